import { Type } from 'typebox';
import { FINDINGS, type FindingCode } from '../../core/product/finding.ts';
import { Repair } from './repair.ts';
import { type ReadonlyStatic, ref, strict } from './schema-parts.ts';

export const FindingCodes = Type.Enum(Object.keys(FINDINGS) as FindingCode[], {
  $id: 'FindingCode',
  description: 'Stable: programs can rely on it',
});

const place = {
  where: Type.String({ description: 'JSON pointer into the model, or a place in words' }),
  place: Type.Optional(Type.String({ description: 'The same place in words: which part, which material' })),
  message: Type.String(),
  seen: Type.Optional(Type.Unknown({ description: 'The value that the check measured or read' })),
  expected: Type.Optional(Type.Unknown()),
  repairs: Type.Optional(
    Type.Array(ref(Repair), {
      description: 'Repairs that settle the finding. Several of `scale` or `separate-pieces` are alternatives',
    }),
  ),
};

export const Finding = Type.Object(
  {
    code: ref(FindingCodes),
    severity: Type.Enum(['error', 'warning', 'note']),
    ...place,
    places: Type.Optional(
      Type.Array(Type.Object(place, strict), { description: 'Set if one cause has several places' }),
    ),
    asks: Type.Optional(
      Type.Boolean({
        description: 'True if a person has to choose: Dyeworks offers the repairs, but does not propose them',
      }),
    ),
  },
  { ...strict, $id: 'Finding', description: 'One remark of a check. A finding is not an error' },
);

export const Findings = Type.Array(ref(Finding));

export const Verdict = Type.Enum(['ready', 'attention', 'blocked'], {
  description: 'An error blocks. A warning needs attention. A model with notes only is ready',
});

export const ReadinessAnswer = Type.Object(
  {
    verdict: Verdict,
    findings: Findings,
    proposals: Type.Array(ref(Repair), {
      description: 'All proposed repairs, in the order to make them. Repairs that need a choice are left out',
    }),
  },
  strict,
);
export type ReadinessAnswer = ReadonlyStatic<typeof ReadinessAnswer>;
