import { type Static, Type } from 'typebox';
import { strict } from './common.ts';

export const TakeVariantsBody = Type.Object(
  { replace: Type.Optional(Type.Boolean({ description: 'Let it take the place of a schedule that is there' })) },
  strict,
);
export type TakeVariantsBody = Static<typeof TakeVariantsBody>;
