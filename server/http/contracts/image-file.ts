import { type Static, Type } from 'typebox';
import { CONTRASTS } from '../../core/finish/level-map.ts';
import { Findings } from './finding.ts';
import { Count, Digest, nullable, type ReadonlyStatic, Share, strict } from './schema-parts.ts';
import { MapFacts } from './survey.ts';

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
    mimeType: Type.Enum(['image/png', 'image/jpeg', 'image/webp', 'image/ktx2']),
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
