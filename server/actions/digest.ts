import { createHash } from 'node:crypto';

/** SHA-256, hex, of a value as JSON. */
export function digest(value: unknown): string {
  return digestBytes(JSON.stringify(value));
}

/** SHA-256, hex. */
export function digestBytes(bytes: string | Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}
