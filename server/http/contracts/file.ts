import { type Static, Type } from 'typebox';
import { Digest, strict } from './common.ts';

export const FileParams = Type.Object({ sha256: Digest }, strict);
export type FileParams = Static<typeof FileParams>;
