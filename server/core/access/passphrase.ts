import { Problem } from '../problems.ts';
import { ACCESS_PROBLEMS } from '../texts/problems/access.ts';

/**
 * Characters of a new passphrase, after NFC. NIST SP 800-63B-4 §3.1.1.2 asks for at least 15 where the passphrase is the only
 * factor, and forbids rules of composition. Passphrases that were chosen under a shorter minimum still sign in. The upper limit
 * bounds the work of the hash.
 */
export const PASSPHRASE_LENGTH = { min: 15, max: 256 } as const;

/** Words that people lengthen into a passphrase. Compared without marks and digits at the end. */
const COMMON: ReadonlySet<string> = new Set([
  'passwordpassword',
  'passphrase',
  'mypassphrase',
  'mypassword',
  'password',
  'administrator',
  'adminadmin',
  'letmeinletmein',
  'iloveyou',
  'iloveyouiloveyou',
  'qwertyuiop',
  'qwertyuiopasdfghjkl',
  'qwertyqwerty',
  'asdfghjkl',
  'welcomewelcome',
  'changeme',
  'changemenow',
  'correcthorsebatterystaple',
  'dyeworks',
  'dyeworksdyeworks',
  'trustno',
  'princess',
  'sunshine',
  'football',
  'baseball',
  'superman',
  'starwars',
  'unbelievable',
  'testtesttest',
  'secretsecret',
]);

const SEQUENCES = ['01234567890123456789', 'abcdefghijklmnopqrstuvwxyz', 'qwertyuiopasdfghjklzxcvbnm'];

/**
 * Returns a passphrase in the form that is hashed: Unicode NFC, otherwise unchanged.
 * @param own names that must not be the passphrase: of the person and of the account
 * @throws Problem `weak-passphrase`; it never contains the passphrase
 */
export function checkPassphrase(given: string, own: readonly string[]): string {
  const passphrase = given.normalize('NFC');
  const length = [...passphrase].length;
  const { min, max } = PASSPHRASE_LENGTH;
  if (length < min || length > max) {
    throw new Problem('weak-passphrase', {
      detail: ACCESS_PROBLEMS['weak-passphrase'].length(min, max),
      expected: `${min} to ${max} characters`,
      received: `${length} characters`,
    });
  }
  if (isCommon(passphrase, own))
    throw new Problem('weak-passphrase', { detail: ACCESS_PROBLEMS['weak-passphrase'].common });
  return passphrase;
}

function isCommon(passphrase: string, own: readonly string[]): boolean {
  const folded = passphrase.toLowerCase().replace(/[\s._-]+/g, '');
  const stem = folded.replace(/[\d\p{P}\p{S}]+$/u, '');
  if (COMMON.has(folded) || COMMON.has(stem)) return true;
  // one or two characters, or a short word over and over
  if (new Set(folded).size < 4 || /^(.{1,4})\1+$/u.test(folded)) return true;
  const reversed = [...folded].reverse().join('');
  if (SEQUENCES.some((sequence) => sequence.includes(folded) || sequence.includes(reversed))) return true;
  return own.some((name) => {
    const bare = name.toLowerCase().replace(/[\s._-]+/g, '');
    return bare.length > 0 && (folded === bare || stem === bare);
  });
}
