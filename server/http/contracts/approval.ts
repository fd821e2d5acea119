import { type Static, Type } from 'typebox';
import { DECISIONS, LIGHTS, SHOWN } from '../../core/approval/approval.ts';
import { MOUNTS } from '../../core/picture/picture.ts';
import { Code, Count, Digest, Key, mapOf, Name, nullable, type ReadonlyStatic, strict, Time } from './schema-parts.ts';

const light = Type.Enum([...LIGHTS], { description: 'The light for the decision' });
const shown = Type.Enum([...SHOWN], { description: 'A screen is an indication. The sample decides' });

export const DecisionBody = Type.Object(
  {
    decision: Type.Enum([...DECISIONS]),
    // needed where no person is signed in
    person: Type.Optional(Name),
    reason: Type.Optional(Type.String({ maxLength: 2000, description: 'Required for a rejection' })),
    light,
    shown,
    picture: Type.Optional(Digest),
  },
  strict,
);
export type DecisionBody = Static<typeof DecisionBody>;

const Look = Type.Object(
  {
    model: Type.Optional(nullable(Type.Object({ revision: Type.Integer({ minimum: 1 }), sha256: Digest }, strict))),
    mount: Type.Optional(Type.Enum([...MOUNTS])),
    worn: Type.Array(
      Type.Object(
        {
          finish: Code,
          look: Digest,
          on: Type.Optional(
            Type.Object(
              {
                slot: Key,
                label: Type.String(),
                fixed: Type.Boolean(),
                grainDegrees: Type.Number(),
                keeps: Digest,
                covers: Digest,
              },
              strict,
            ),
          ),
        },
        strict,
      ),
    ),
  },
  { ...strict, description: 'Digests of the judged look. The decision is valid while all of them stay the same' },
);

const Approval = Type.Object(
  {
    subject: Type.Union([Type.Object({ finish: Code }, strict), Type.Object({ product: Code, variant: Code }, strict)]),
    decision: Type.Enum([...DECISIONS]),
    round: Type.Integer({ minimum: 1 }),
    person: Type.String(),
    reason: Type.Optional(Type.String()),
    light,
    shown,
    revisions: mapOf(Count, 'Revision of each finish: by code, or by code and slot'),
    look: Type.Optional(Look),
    picture: Type.Optional(Digest),
    at: Time,
  },
  strict,
);

const state = Type.Enum(['none', ...DECISIONS, 'lapsed']);
const lapsedBecause = Type.Optional(Type.String({ description: 'Why the last decision is no longer valid' }));

export const VariantStandingsAnswer = Type.Object(
  {
    variants: Type.Array(Type.Object({ variant: Code, state, round: Count, lapsedBecause }, strict), {
      description: 'In the order of the schedule, without variants that have no decision',
    }),
  },
  strict,
);
export type VariantStandingsAnswer = ReadonlyStatic<typeof VariantStandingsAnswer>;

export const RangeStandingsAnswer = Type.Object(
  {
    finishes: Type.Array(Type.Object({ finish: Code, state, round: Count, lapsedBecause }, strict), {
      description: 'In the order of the range, without finishes that have no decision',
    }),
  },
  strict,
);
export type RangeStandingsAnswer = ReadonlyStatic<typeof RangeStandingsAnswer>;

export const ApprovalsAnswer = Type.Object(
  {
    state,
    round: Count,
    lapsedBecause,
    approvals: Type.Array(Approval, { description: 'Oldest first' }),
    caution: Type.String(),
  },
  strict,
);
export type ApprovalsAnswer = ReadonlyStatic<typeof ApprovalsAnswer>;
