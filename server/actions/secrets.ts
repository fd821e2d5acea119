import { randomBytes } from 'node:crypto';
import { digestBytes } from './caching.ts';

/** A new secret of 256 random bits, as text for cookies and URLs. */
export function makeSecret(): string {
  return randomBytes(32).toString('base64url');
}

/** A short random name for a token: it recognises the token and opens nothing. */
export function makeTokenName(): string {
  return randomBytes(5).toString('hex');
}

/** The only form in which a random secret is stored. A fast digest is enough, since it cannot be guessed. */
export function digestSecret(secret: string): string {
  return digestBytes(secret);
}
