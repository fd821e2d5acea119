import { type Static, Type } from 'typebox';
import { DECISIONS, LIGHTS, SHOWN } from '../../core/approval/approval.ts';
import { Digest, Name, strict } from './common.ts';

export const DecisionBody = Type.Object(
  {
    decision: Type.Enum([...DECISIONS]),
    person: Name,
    reason: Type.Optional(Type.String({ maxLength: 2000, description: 'A rejection needs one' })),
    light: Type.Enum([...LIGHTS], { description: 'The light it was judged under' }),
    shown: Type.Enum([...SHOWN], { description: 'A screen is an indication; the sample decides' }),
    picture: Type.Optional(Digest),
  },
  strict,
);
export type DecisionBody = Static<typeof DecisionBody>;
