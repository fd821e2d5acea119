import { Type } from 'typebox';
import { PROBLEMS, type ProblemCode } from '../../core/problems.ts';
import { nullable, type ReadonlyStatic, ref, strict } from './schema-parts.ts';

export const HealthAnswer = Type.Object(
  {
    status: Type.Literal('ok'),
    version: Type.Optional(Type.String()),
    renderer: Type.Optional(
      nullable(
        Type.Object({ browser: Type.String(), gl: Type.String(), driver: Type.String() }, strict),
        'Null until the first picture is rendered',
      ),
    ),
  },
  { ...strict, description: 'Version and renderer are left out for callers without the token, if one is set' },
);
export type HealthAnswer = ReadonlyStatic<typeof HealthAnswer>;

export const ReadyAnswer = Type.Object({ status: Type.Literal('ready') }, strict);
export type ReadyAnswer = ReadonlyStatic<typeof ReadyAnswer>;

export const SessionBody = Type.Object({ token: Type.String({ maxLength: 500 }) }, strict);

export const ProblemCodes = Type.Enum(Object.keys(PROBLEMS) as ProblemCode[], {
  $id: 'ProblemCode',
  description: 'Stable: programs can rely on it',
});

/** A refused call: the problem details of RFC 9457, §3. */
export const ProblemAnswer = Type.Object(
  {
    type: Type.String({ description: 'A URI that identifies the kind of problem' }),
    title: Type.String(),
    status: Type.Integer({ minimum: 400, maximum: 599 }),
    code: ref(ProblemCodes),
    detail: Type.String({ description: 'The cause, the expected value, and the next step' }),
    expected: Type.Optional(Type.Unknown()),
    received: Type.Optional(Type.Unknown()),
    where: Type.Optional(Type.String({ description: 'JSON pointer or path of the place in the call' })),
    findings: Type.Optional(Type.Array(Type.Unknown(), { description: 'Findings or uses that block the call' })),
  },
  { ...strict, $id: 'Problem', description: 'Problem details (RFC 9457)' },
);
export type ProblemAnswer = ReadonlyStatic<typeof ProblemAnswer>;
