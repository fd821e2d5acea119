import { type Static, Type } from 'typebox';
import { CONTRASTS } from '../../core/finish/level-map.ts';
import { Digest, strict } from './common.ts';

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
