import type { ProblemTexts } from '../../problems.ts';

/** Texts about people, roles, sessions and tokens. */
export const ACCESS_PROBLEMS = {
  'not-allowed': {
    role: (needed: string, role: string, line: string | null) =>
      `This needs the role ${needed}${line === null ? '' : ` on the line ${line}`}; you have the role ${role}. Ask an owner for it.`,
  },
  'body-too-large': (role: string, limit: number) =>
    `With the role ${role} you can send ${Math.floor(limit / 2 ** 20)} MiB at once. Send a smaller file, or ask an owner to send it.`,
  'token-needed': {
    signIn: 'This service needs a sign-in. Send “Authorization: Bearer …” with a token, or sign in on the page.',
    unknown:
      'This token or session is not valid: it is wrong, it has expired, or it was revoked. Sign in again, or make a new token.',
  },
  'sign-in-refused': {
    passphrase:
      'The name or the passphrase is wrong. Try again, or ask an owner for a link to choose a new passphrase.',
    house:
      'The sign-in of your organisation does not name a person who can sign in here. Ask an owner to add you with your email address.',
    answer:
      'The answer from the sign-in of your organisation does not belong to this browser, or is too old. Sign in again.',
  },
  'house-unreachable':
    'The sign-in of your organisation does not answer. Try again in a moment, or use your passphrase.',
  'too-many-attempts': (seconds: number) =>
    `There were too many wrong attempts. Wait ${seconds < 60 ? `${seconds} s` : `${Math.ceil(seconds / 60)} min`}, then try again.`,
  'too-many-calls': (seconds: number) =>
    `There were too many calls in the last minute. Wait ${seconds} s, then try again.`,
  'sign-in-busy': 'Too many people sign in at the same time. Try again in a few seconds.',
  'another-person': {
    signedIn: (name: string) =>
      `You are signed in as ${name}, but the call names another person. Leave the name out, or sign in as that person.`,
    notProven: (name: string) =>
      `${name} can sign in, so only a signed-in call can use this name. Sign in as ${name}, or leave the name out.`,
  },
  'invalid-field': {
    account:
      'A sign-in name starts with a letter or digit, then has letters, digits, dots, underscores, hyphens, “@” or “+”; 64 characters at most.',
    lineTwice: (line: string) => `The line ${line} occurs twice. List each line once.`,
    tokenScope: (scope: string, role: string) =>
      `A token cannot have the role ${scope}, because you have the role ${role}. Choose a role that you have.`,
  },
  'weak-passphrase': {
    length: (min: number, max: number) =>
      `A passphrase needs ${min} to ${max} characters. Several random words are easy to remember.`,
    common: 'This passphrase is easy to guess. Choose another, such as several random words.',
  },
  'wrong-passphrase': 'This is not your current passphrase. Try again, or ask an owner for a link to choose a new one.',
  'unknown-person': (account: string) => `There is no person with the sign-in name “${account}”. Check the name.`,
  'duplicate-person': {
    account: (account: string) => `The sign-in name “${account}” is already in use. Choose another.`,
    name: (name: string) =>
      `Another person is already named “${name}”. Histories need different names; add an initial or a department.`,
  },
  'last-owner': {
    change: 'This is the last owner who can sign in. Make another person an owner first.',
    first: 'The first person must be an owner, because otherwise there would be no way to manage people.',
  },
  'unknown-line': (line: string) => `There is no line “${line}”. Add the line first, or correct its code.`,
  'too-many-tokens': (limit: number) => `A person can have ${limit} tokens at most. Revoke one first.`,
  'unknown-session': 'This session does not exist, or has ended.',
  'unknown-token': 'This token does not exist, or was revoked.',
  'reset-expired':
    'This link is not valid: it was used, it has expired, or a newer one exists. Ask an owner for a new link.',
  'account-needed': 'Only a signed-in person has an account. Sign in with a name and a passphrase.',
} as const satisfies ProblemTexts;
