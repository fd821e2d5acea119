import { signal } from '@preact/signals';
import type { ProductClass } from '../../../server/core/product/product.ts';
import { call, getErrorMessage, seg } from '../../api.ts';
import { getModelMediaType, uploadModel } from '../../upload-model.ts';
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

/** Adding a product: a file, what to call it, and sending it. `onAdded` hears the code. */
export function createAddProductModel(onAdded: (code: string) => void) {
  const wanted = signal<NewProduct | null>(null);
  const step = signal<AddStep>({ step: 'waiting' });
  const trouble = signal<string | null>(null);

  function take(file: File, line: string): void {
    if (step.value.step === 'sending' || step.value.step === 'surveying') return;
    if (!getModelMediaType(file.name)) {
      trouble.value = `“${file.name}” is no .glb, .gltf or .zip. Export the model as GLB and drop that.`;
      return;
    }
    wanted.value = { file, line, ...guessProduct(file.name) };
    step.value = { step: 'asking' };
    trouble.value = null;
  }

  function change(part: Partial<NewProduct>): void {
    if (wanted.value) wanted.value = { ...wanted.value, ...part };
  }

  function giveUp(): void {
    wanted.value = null;
    step.value = { step: 'waiting' };
    trouble.value = null;
  }

  async function send(): Promise<void> {
    const product = wanted.value;
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
      giveUp();
      onAdded(code);
    } catch (error) {
      trouble.value = getErrorMessage(error);
      // a product without the model it was added for is not what was asked for
      if (stored) await call('DELETE', path).catch(() => undefined);
      step.value = { step: 'asking' };
    }
  }

  return { wanted, step, trouble, take, change, giveUp, send };
}

export type AddProductModel = ReturnType<typeof createAddProductModel>;
