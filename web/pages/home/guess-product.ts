import type { ProductClass } from '../../../server/core/product/product.ts';

export interface GuessedProduct {
  readonly code: string;
  readonly name: string;
  readonly class: ProductClass;
}

/** Words in a file name that suggest a class. Longer ones come first, so that “bar stool” is found before “stool”. */
const CLASS_WORDS: readonly (readonly [words: string, ProductClass])[] = [
  ['bar stool', 'bar-stool'],
  ['counter stool', 'bar-stool'],
  ['dining table', 'dining-table'],
  ['coffee table', 'coffee-table'],
  ['side table', 'coffee-table'],
  ['table lamp', 'table-lamp'],
  ['desk lamp', 'table-lamp'],
  ['floor lamp', 'floor-lamp'],
  ['pendant', 'pendant-lamp'],
  ['armchair', 'armchair'],
  ['lounge chair', 'armchair'],
  ['chair', 'dining-chair'],
  ['stool', 'stool'],
  ['sofa', 'sofa'],
  ['couch', 'sofa'],
  ['desk', 'desk'],
  ['table', 'dining-table'],
  ['lamp', 'table-lamp'],
  ['bed', 'bed'],
  ['mug', 'mug'],
  ['bottle', 'bottle'],
  ['plate', 'plate'],
];

/** Guesses code, name and class from a file name: `Bar_Stool-v2.glb` gives `Bar_Stool-v2`, “Bar stool v2”, bar stool. */
export function guessProduct(fileName: string): GuessedProduct {
  const stem = fileName.replace(/^.*[\\/]/, '').replace(/\.(glb|gltf|zip)$/i, '');
  const code = stem
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/^[^A-Za-z0-9]+|-+$/g, '')
    .slice(0, 64);
  const words = stem
    .replace(/([\p{Ll}\d])(\p{Lu})/gu, '$1 $2')
    .replace(/[_.\-\s]+/g, ' ')
    .trim();
  const plain = ` ${words.toLowerCase()} `;
  const found = CLASS_WORDS.find(([word]) => plain.includes(` ${word} `) || plain.includes(` ${word}s `));
  return { code, name: sentence(words).slice(0, 120), class: found?.[1] ?? 'none' };
}

/** Sentence case. Words in capitals are codes and stay. */
function sentence(words: string): string {
  return words
    .split(' ')
    .map((word, at) => {
      if (word.length > 1 && word === word.toUpperCase()) return word;
      return at === 0 ? word.charAt(0).toUpperCase() + word.slice(1) : word.charAt(0).toLowerCase() + word.slice(1);
    })
    .join(' ');
}
