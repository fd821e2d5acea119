import { signal } from '@preact/signals';
import type { ProductClass } from '../../../server/core/product/product.ts';
import { capitalise } from '../../../server/core/texts/format-text.ts';
import type { ModelAnswer } from '../../../server/http/contracts/model.ts';
import { call, getErrorMessage, getModelMediaType, seg, uploadModel } from '../../api.ts';
import { commonTexts } from '../../texts/common.ts';

interface NewProduct {
  readonly file: File;
  readonly code: string;
  readonly name: string;
  readonly line: string;
  readonly class: ProductClass;
}

export type AddStep =
  | { readonly step: 'waiting' }
  | { readonly step: 'asking' }
  | { readonly step: 'sending'; readonly share: number }
  | { readonly step: 'surveying' }
  | { readonly step: 'done'; readonly code: string; readonly name: string; readonly model: ModelAnswer };

/**
 * Adds a product: a model file, the product's name and class, then the upload.
 * @param onAdded is called once the product is stored
 */
export function createAddProductModel(onAdded: () => void) {
  const draft = signal<NewProduct | null>(null);
  const step = signal<AddStep>({ step: 'waiting' });
  const problem = signal<string | null>(null);

  function chooseFile(file: File, line: string): void {
    if (step.value.step === 'sending' || step.value.step === 'surveying') return;
    if (!getModelMediaType(file.name)) {
      problem.value = commonTexts.errors.notAModel(file.name);
      return;
    }
    // a person who picks another file keeps the line that they chose
    line = draft.value?.line ?? line;
    draft.value = { file, line, ...guessProduct(file.name) };
    step.value = { step: 'asking' };
    problem.value = null;
  }

  function change(part: Partial<NewProduct>): void {
    if (draft.value) draft.value = { ...draft.value, ...part };
  }

  function cancel(): void {
    draft.value = null;
    step.value = { step: 'waiting' };
    problem.value = null;
  }

  async function send(): Promise<void> {
    const product = draft.value;
    if (!product) return;
    const path = `/api/products/${seg(product.code)}`;
    let stored = false;
    problem.value = null;
    step.value = { step: 'sending', share: 0 };
    try {
      const { code, name, line } = product;
      await call('POST', '/api/products', { json: { code, name, class: product.class, ...(line && { line }) } });
      stored = true;
      const model = await uploadModel(code, product.file, (share) => {
        step.value = share < 1 ? { step: 'sending', share } : { step: 'surveying' };
      });
      draft.value = null;
      step.value = { step: 'done', code, name, model };
      onAdded();
    } catch (error) {
      problem.value = getErrorMessage(error);
      // do not leave a product without its model behind
      if (stored) await call('DELETE', path).catch(() => undefined);
      step.value = { step: 'asking' };
    }
  }

  return { draft, step, problem, chooseFile, change, cancel, send };
}

export type AddProductModel = ReturnType<typeof createAddProductModel>;

interface GuessedProduct {
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
      return at === 0 ? capitalise(word) : word.charAt(0).toLowerCase() + word.slice(1);
    })
    .join(' ');
}
