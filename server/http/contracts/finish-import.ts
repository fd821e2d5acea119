import { type Static, Type } from 'typebox';
import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../core/finish/finish.ts';
import { FindingCodes } from './finding.ts';
import { Code, DeltaE, Family, Flag, Hex, Lab, nullable, type ReadonlyStatic, ref, strict } from './schema-parts.ts';
import { ProblemCodes } from './service.ts';

const unlessStated = { description: 'Used if the file does not state it' };

export const ImportQuery = Type.Object(
  {
    dryRun: Type.Optional({ ...Flag, description: '1: only report what the import would do' }),
    partial: Type.Optional({ ...Flag, description: '1: import the good lines even if others are refused' }),
    family: Type.Optional({ ...Family, description: 'For new finishes without a family or an article' }),
    article: Type.Optional({ ...Code, description: 'For new finishes without an article' }),
    illuminant: Type.Optional(Type.Enum([...ILLUMINANTS], unlessStated)),
    observer: Type.Optional(Type.Enum([...OBSERVERS], unlessStated)),
    geometry: Type.Optional(Type.Enum([...GEOMETRIES], unlessStated)),
  },
  strict,
);
export type ImportQuery = Static<typeof ImportQuery>;

const Line = Type.Integer({ minimum: 1, description: 'Line of the file, from 1' });

const planned = {
  line: Line,
  finish: Code,
  name: Type.String(),
  family: Family,
  article: Type.Optional(Code),
  hex: Hex,
  lab: { ...Lab, description: 'Specified colour: CIE L*a*b*, D65, 2°' },
  outOfGamutDeltaE: DeltaE,
  estimated: nullable(Type.Object({ typicalDeltaE: DeltaE, worstDeltaE: DeltaE }, strict)),
  findings: Type.Array(ref(FindingCodes)),
};
const Planned = Type.Object(planned, strict);

const Changed = Type.Object(
  {
    ...planned,
    fields: Type.Array(Type.String()),
    changes: Type.Array(
      Type.Object(
        { field: Type.String(), before: nullable(Type.String()), after: nullable(Type.String()) },
        { ...strict, description: 'In words. Null if the field is not set' },
      ),
    ),
    before: Type.Object({ name: Type.String(), hex: Hex }, strict),
    deltaE: { ...DeltaE, description: 'CIEDE2000 between the colours before and after' },
  },
  strict,
);

const Refused = Type.Object(
  { line: Line, finish: nullable(Type.String()), code: ref(ProblemCodes), message: Type.String() },
  strict,
);

export const ImportAnswer = Type.Object(
  {
    format: Type.Enum(['csv', 'cgats', 'cxf']),
    stored: Type.Boolean({ description: 'False for a dry run, and if a refused line stopped the import' }),
    created: Type.Array(Planned),
    changed: Type.Array(Changed),
    unchanged: Type.Array(Planned),
    refused: Type.Array(Refused),
  },
  { ...strict, description: 'The outcome of the import, or its preview, line by line' },
);
export type ImportAnswer = ReadonlyStatic<typeof ImportAnswer>;
