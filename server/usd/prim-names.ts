/** Longer names are cut, since some viewers copy the whole path of a prim into each message. */
const MOST_LETTERS = 48;

/**
 * Gives prims, primvars and variants legal names. An identifier of USD has ASCII letters, digits and underscores and does not
 * begin with a digit; newer releases allow more, which older viewers refuse. Names of one instance differ, ignoring case.
 */
export class PrimNames {
  readonly #taken = new Set<string>();

  /** @param fallback used where a text has no letter or digit that an identifier may have */
  take(text: string, fallback: string): string {
    const base = toIdentifier(text) || fallback;
    for (let number = 1; ; number++) {
      const name = number === 1 ? base : `${base}_${number}`;
      const key = name.toLowerCase();
      if (this.#taken.has(key)) continue;
      this.#taken.add(key);
      return name;
    }
  }
}

/** A text as an identifier; empty when nothing of it can be used. */
export function toIdentifier(text: string): string {
  const plain = text
    .slice(0, MOST_LETTERS * 4)
    // accents become separate marks, which are dropped
    .normalize('NFKD')
    .replace(/\p{M}+/gu, '')
    .replace(/[^A-Za-z0-9]+/g, '_')
    .slice(0, MOST_LETTERS)
    .replace(/^_+|_+$/g, '');
  return /^[0-9]/.test(plain) ? `_${plain}` : plain;
}
