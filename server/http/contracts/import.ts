import { type Static, Type } from 'typebox';
import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../core/finish/finish.ts';
import { PROBLEMS, type ProblemCode } from '../../core/problems.ts';
import { FINDINGS, type FindingCode } from '../../core/product/finding.ts';
import { Code, Family, nullable, strict } from './common.ts';

const Flag = Type.Enum(['0', '1']);

export const ImportQuery = Type.Object(
  {
    dryRun: Type.Optional({ ...Flag, description: '1: store nothing, only say what would come of it' }),
    partial: Type.Optional({ ...Flag, description: '1: take what can be taken though lines are refused' }),
    family: Type.Optional({ ...Family, description: 'Of new finishes that say neither family nor article' }),
    article: Type.Optional({ ...Code, description: 'Of new finishes that name none' }),
    illuminant: Type.Optional(Type.Enum([...ILLUMINANTS], { description: 'Where the file does not say' })),
    observer: Type.Optional(Type.Enum([...OBSERVERS], { description: 'Where the file does not say' })),
    geometry: Type.Optional(Type.Enum([...GEOMETRIES], { description: 'Where the file does not say' })),
  },
  strict,
);
export type ImportQuery = Static<typeof ImportQuery>;

const DeltaE = Type.Number({ minimum: 0, description: 'CIEDE2000' });
const Hex = Type.String({ pattern: '^#[0-9a-f]{6}$', description: '8-bit sRGB' });

/** A line that is taken. */
const PLANNED = {
  line: Type.Integer({ minimum: 1, description: 'Line of the file, from 1' }),
  finish: Code,
  name: Type.String(),
  family: Family,
  article: Type.Optional(Code),
  hex: Hex,
  lab: Type.Tuple([Type.Number(), Type.Number(), Type.Number()], {
    description: 'CIE Lab, D65, 2°, of what is specified',
  }),
  outOfGamutDeltaE: DeltaE,
  estimated: nullable(Type.Object({ typicalDeltaE: DeltaE, worstDeltaE: DeltaE }, strict)),
  findings: Type.Array(Type.Enum(Object.keys(FINDINGS) as FindingCode[])),
};
const Planned = Type.Object(PLANNED, strict);

const Changed = Type.Object(
  {
    ...PLANNED,
    fields: Type.Array(Type.String()),
    changes: Type.Array(
      Type.Object(
        { field: Type.String(), before: nullable(Type.String()), after: nullable(Type.String()) },
        { ...strict, description: 'In words; null where nothing is said' },
      ),
    ),
    before: Type.Object({ name: Type.String(), hex: Hex }, strict),
    deltaE: { ...DeltaE, description: 'CIEDE2000 between the colours before and after' },
  },
  strict,
);

const Refused = Type.Object(
  {
    line: Type.Integer({ minimum: 1 }),
    finish: nullable(Type.String()),
    code: Type.Enum(Object.keys(PROBLEMS) as ProblemCode[]),
    message: Type.String(),
  },
  strict,
);

/** What an import did, or would do. */
export const ImportResult = Type.Object(
  {
    format: Type.Enum(['csv', 'cgats', 'cxf']),
    stored: Type.Boolean({ description: 'False for a dry run, and where a refused line kept all out' }),
    created: Type.Array(Planned),
    changed: Type.Array(Changed),
    unchanged: Type.Array(Planned),
    refused: Type.Array(Refused),
  },
  { ...strict, description: 'Line by line' },
);
