import { signal } from '@preact/signals';
import type { ProductClass } from '../../../server/core/product/product.ts';
import { call, getErrorMessage, getModelMediaType, seg, uploadModel } from '../../api.ts';
import { commonTexts } from '../../texts/common.ts';
import { guessProduct } from './guess-product.ts';

export interface NewProduct {
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
  | { readonly step: 'surveying' };

/**
 * Adds a product: a model file, the product's name and class, then the upload.
 * @param onAdded receives the code of the new product
 */
export function createAddProductModel(onAdded: (code: string) => void) {
  const draft = signal<NewProduct | null>(null);
  const step = signal<AddStep>({ step: 'waiting' });
  const trouble = signal<string | null>(null);

  function chooseFile(file: File, line: string): void {
    if (step.value.step === 'sending' || step.value.step === 'surveying') return;
    if (!getModelMediaType(file.name)) {
      trouble.value = commonTexts.errors.notAModel(file.name);
      return;
    }
    draft.value = { file, line, ...guessProduct(file.name) };
    step.value = { step: 'asking' };
    trouble.value = null;
  }

  function change(part: Partial<NewProduct>): void {
    if (draft.value) draft.value = { ...draft.value, ...part };
  }

  function cancel(): void {
    draft.value = null;
    step.value = { step: 'waiting' };
    trouble.value = null;
  }

  async function send(): Promise<void> {
    const product = draft.value;
    if (!product) return;
    const path = `/api/products/${seg(product.code)}`;
    let stored = false;
    trouble.value = null;
    step.value = { step: 'sending', share: 0 };
    try {
      const { code, name, line } = product;
      await call('POST', '/api/products', { json: { code, name, class: product.class, ...(line && { line }) } });
      stored = true;
      await uploadModel(code, product.file, (share) => {
        step.value = share < 1 ? { step: 'sending', share } : { step: 'surveying' };
      });
      cancel();
      onAdded(code);
    } catch (error) {
      trouble.value = getErrorMessage(error);
      // do not leave a product without its model behind
      if (stored) await call('DELETE', path).catch(() => undefined);
      step.value = { step: 'asking' };
    }
  }

  return { draft, step, trouble, chooseFile, change, cancel, send };
}

export type AddProductModel = ReturnType<typeof createAddProductModel>;
