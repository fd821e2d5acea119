// stands in for the same function of take-picture.ts until that is there
import type { RawPicture } from '../core/ports/renderer.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import { composePicture } from './compose-picture.ts';
import type { Context } from './context.ts';
import { type LoadedProduct, needModel } from './load-product.ts';
import { digest } from './studio-files.ts';

export interface FoundPicture {
  readonly key: string;
  take(): Promise<{ readonly raw: RawPicture; readonly source: 'composed' | 'rendered' }>;
}

// biome-ignore lint/suspicious/noExplicitAny: stands in
export async function findPicture(
  context: Context,
  loaded: LoadedProduct,
  choices: any,
  request: any,
): Promise<FoundPicture> {
  const worn = loaded.slots.flatMap((slot) => {
    const code = choiceOf(choices, slot.slot);
    return code === undefined || slot.primitives.length === 0 ? [] : [{ slot, finish: loaded.finishes.resolve(code) }];
  });
  const { format: _, ...rest } = request;
  return {
    key: digest(['product', context.studioVersion, needModel(loaded).sha256, worn, rest]),
    take: async () => ({
      raw: (await composePicture(context, { loaded, choices, worn, ...request }))!,
      source: 'composed',
    }),
  };
}
