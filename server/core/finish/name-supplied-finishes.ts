import { CODE_LENGTH, foldCode, RESERVED, toCode, toName } from '../codes.ts';
import type { Finish } from './finish.ts';

/** A finish for a material that came with a model. */
export interface NamedMaterial {
  readonly code: string;
  readonly name: string;
  /** A finish of that code has the very material already, and stays as it is. */
  readonly known: boolean;
}

/**
 * Names finishes after materials; one without a name is “material” and its index in the file. A code that another finish
 * has is numbered, unless that finish has the very material. Materials that are the same to the byte are one finish.
 * @returns in the order of the materials
 */
export function nameSuppliedFinishes(
  materials: readonly { readonly index: number; readonly name: string; readonly sha256: string }[],
  finishes: ReadonlyMap<string, Finish>,
): NamedMaterial[] {
  const taken = new Map<string, string | undefined>([...finishes].map(([key, finish]) => [key, finish.supplied?.file]));
  for (const word of RESERVED) taken.set(word, undefined);
  const stored = new Set(taken.keys());
  return materials.map(({ index, name, sha256 }) => {
    const fallback = `material ${index}`;
    const stem = toCode(name) || toCode(fallback);
    let code = stem;
    for (let n = 2; taken.has(foldCode(code)) && taken.get(foldCode(code)) !== sha256; n++) {
      // room for the number
      code = `${stem.slice(0, CODE_LENGTH - 8)}-${n}`;
    }
    const known = stored.has(foldCode(code));
    taken.set(foldCode(code), sha256);
    return { code: finishes.get(foldCode(code))?.finish ?? code, name: toName(name) || fallback, known };
  });
}
