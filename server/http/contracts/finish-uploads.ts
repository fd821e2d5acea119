import { type Static, Type } from 'typebox';
import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../core/finish/finish.ts';
import { CONTRASTS } from '../../core/finish/level-map.ts';
import { MAP_TYPES } from '../../core/finish/map-image.ts';
import { FindingCodes, Findings } from './finding.ts';
import {
  Code,
  Count,
  DeltaE,
  Digest,
  Family,
  Flag,
  Hex,
  Lab,
  nullable,
  type ReadonlyStatic,
  ref,
  Share,
  strict,
} from './schema-parts.ts';
import { ProblemCodes } from './service.ts';
import { MapFacts } from './survey.ts';

const unlessStated = { description: 'Used if the file does not state it' };

export const ImportQuery = Type.Object(
  {
    dryRun: Type.Optional({ ...Flag, description: '1: only report what the import would do' }),
    partial: Type.Optional({ ...Flag, description: '1: import the good lines even if others are refused' }),
    columns: Type.Optional(
      Type.String({
        maxLength: 8000,
        description:
          'Names of the columns of a CSV file, in their order and separated by commas, instead of its first row; - leaves a column out',
      }),
    ),
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

export const FileParams = Type.Object({ sha256: Digest }, strict);
export type FileParams = Static<typeof FileParams>;

export const ImageQuery = Type.Object(
  {
    contrast: Type.Optional(
      Type.Unsafe<number>({ type: 'number', enum: CONTRASTS, description: 'Re-encoded at this contrast' }),
    ),
  },
  strict,
);
export type ImageQuery = Static<typeof ImageQuery>;

/** An uploaded image, its measurements, and findings about it as a map. */
export const FileAnswer = Type.Object(
  {
    sha256: Digest,
    bytes: Count,
    mimeType: Type.Enum([...MAP_TYPES]),
    widthPx: Count,
    heightPx: Count,
    encoding: nullable(
      Type.Object(
        {
          profile: nullable(
            Type.Object({ name: nullable(Type.String()), isSrgb: Type.Boolean() }, strict),
            'Null without an ICC profile: the values are sRGB',
          ),
          bitsPerChannel: Type.Unsafe<8 | 16>({ enum: [8, 16] }),
          asColour: nullable(Digest, 'The 8-bit sRGB copy that finishes use as colour map. Null if none is needed'),
          outside: nullable(Share, 'Share of texels outside sRGB. Null without a conversion'),
        },
        strict,
      ),
      'Null if unknown, as for KTX2. Dyeworks then reads the image as sRGB',
    ),
    facts: nullable(MapFacts, 'Null if the image is not measured, as for KTX2'),
    looksLike: nullable(Type.Enum(['normal', 'grey', 'colour'])),
    findings: { ...Findings, description: 'Findings that hold for every use' },
    uses: Type.Object(
      { colour: Findings, normal: Findings, roughness: Findings },
      { ...strict, description: 'Further findings by use' },
    ),
  },
  strict,
);
export type FileAnswer = ReadonlyStatic<typeof FileAnswer>;
