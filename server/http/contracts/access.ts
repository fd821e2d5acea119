import { type Static, Type } from 'typebox';
import { PASSPHRASE_LENGTH } from '../../core/access/passphrase.ts';
import { ACCOUNT_PATTERN, TOKEN_DAYS } from '../../core/access/person.ts';
import { LINE_ROLES, ROLES } from '../../core/access/role.ts';
import { Code, Name, nullable, type ReadonlyStatic, strict, Time } from './schema-parts.ts';

const Role = Type.Enum([...ROLES], { description: 'Each role includes the ones before it' });
/** The core checks the form and explains it. */
const Account = Type.String({ maxLength: 200, description: `The sign-in name: ${ACCOUNT_PATTERN}` });
const Passphrase = Type.String({ maxLength: 1000 });
const { min, max } = PASSPHRASE_LENGTH;
const NewPassphrase = Type.String({ maxLength: 1000, description: `${min} to ${max} characters` });
const Secret = Type.String({ maxLength: 200 });

const LineGrant = Type.Object({ line: Code, role: Type.Enum([...LINE_ROLES]) }, strict);
const Lines = Type.Array(LineGrant, {
  maxItems: 500,
  description: 'Higher roles on single lines and their products. What belongs to no line needs the role itself',
});

export const SignInBody = Type.Object({ account: Account, passphrase: Passphrase }, strict);
export const PassphraseBody = Type.Object({ secret: Secret, passphrase: NewPassphrase }, strict);
export const PassphraseChange = Type.Object({ current: Passphrase, passphrase: NewPassphrase }, strict);

export const SessionAnswer = Type.Object(
  {
    caller: nullable(
      Type.Object(
        {
          by: Type.Enum(['open', 'service-token', 'session', 'api-token'], {
            description: 'open: no sign-in is needed, because the service has neither a token nor a person',
          }),
          account: nullable(Type.String()),
          name: nullable(Type.String()),
          role: Role,
          lines: Lines,
        },
        strict,
      ),
      'Null without a sign-in',
    ),
    ways: Type.Object(
      {
        token: Type.Boolean({ description: 'The service has a token' }),
        passphrase: Type.Boolean({ description: 'People can sign in with a name and a passphrase' }),
        house: nullable(Type.String(), 'Name of the sign-in of the organisation'),
      },
      strict,
    ),
  },
  strict,
);
export type SessionAnswer = ReadonlyStatic<typeof SessionAnswer>;

export const PersonBody = Type.Object(
  { account: Account, name: Name, role: Role, lines: Type.Optional(Lines) },
  strict,
);
export type PersonBody = Static<typeof PersonBody>;

export const PersonChangeBody = Type.Object(
  {
    name: Type.Optional(Name),
    role: Type.Optional(Role),
    lines: Type.Optional(Lines),
    disabled: Type.Optional(Type.Boolean()),
  },
  strict,
);
export type PersonChangeBody = Static<typeof PersonChangeBody>;

const person = {
  account: Type.String(),
  name: Type.String({ description: 'As histories and approvals show it' }),
  role: Role,
  lines: Lines,
  disabled: Type.Boolean(),
  createdAt: Time,
  hasPassphrase: Type.Boolean(),
  hasHouse: Type.Boolean({ description: 'Linked to the sign-in of the organisation' }),
};
export const PersonAnswer = Type.Object(person, { ...strict, $id: 'Person' });
export type PersonAnswer = ReadonlyStatic<typeof PersonAnswer>;

const link = {
  secret: Type.String({ description: 'Shown only here, and works once. The person opens /passphrase#{secret}' }),
  expiresAt: Time,
};
export const LinkAnswer = Type.Object(link, strict);
export type LinkAnswer = ReadonlyStatic<typeof LinkAnswer>;

export const NewPersonAnswer = Type.Object({ ...person, link: Type.Object(link, strict) }, strict);
export type NewPersonAnswer = ReadonlyStatic<typeof NewPersonAnswer>;

export const PeopleAnswer = Type.Object({ people: Type.Array(Type.Object(person, strict)) }, strict);
export type PeopleAnswer = ReadonlyStatic<typeof PeopleAnswer>;

const Session = Type.Object(
  {
    id: Type.String(),
    createdAt: Time,
    usedAt: Time,
    expiresAt: Time,
    address: Type.String(),
    browser: Type.String(),
    isThis: Type.Boolean({ description: 'The session of this call' }),
  },
  strict,
);

const token = {
  token: Type.String({ description: 'The first characters of the secret, after dw_' }),
  name: Type.String(),
  scope: Role,
  createdAt: Time,
  expiresAt: Time,
  usedAt: nullable(Time, 'Null until the token is used'),
};

/** The sessions and tokens of a person. */
export const CredentialsAnswer = Type.Object(
  {
    person: Type.Object(person, strict),
    sessions: Type.Array(Session),
    tokens: Type.Array(Type.Object(token, strict)),
  },
  strict,
);
export type CredentialsAnswer = ReadonlyStatic<typeof CredentialsAnswer>;

export const TokenBody = Type.Object(
  {
    name: Name,
    scope: Type.Enum([...ROLES], { description: 'The most that the token may do; never more than its person' }),
    days: Type.Optional(Type.Integer({ minimum: TOKEN_DAYS.min, maximum: TOKEN_DAYS.max, default: TOKEN_DAYS.usual })),
  },
  strict,
);
export type TokenBody = Static<typeof TokenBody>;

export const TokenAnswer = Type.Object({ ...token, secret: Type.String({ description: 'Shown only here' }) }, strict);
export type TokenAnswer = ReadonlyStatic<typeof TokenAnswer>;
