import { type Static, Type } from 'typebox';
import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../core/finish/finish.ts';
import { Code, Family, strict } from './common.ts';

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
