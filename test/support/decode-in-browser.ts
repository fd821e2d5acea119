import { openTestBrowser } from './open-pages.ts';

export interface BrowserDecoder {
  /** Whether the browser decodes each image with `createImageBitmap`, as viewers do; browsers do not decode KTX2. */
  decode(images: readonly { readonly bytes: Uint8Array; readonly type: string }[]): Promise<boolean[]>;
  close(): Promise<void>;
}

/** Opens the decoders of a real browser, which must be able to decode every delivered image. */
export async function openDecoder(): Promise<BrowserDecoder> {
  const browser = await openTestBrowser();
  const page = await browser.newPage();
  return {
    decode: (images) =>
      page.evaluate(
        (given) =>
          Promise.all(
            given.map(async ({ base64, type }) => {
              const bytes = Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
              const bitmap = createImageBitmap(new Blob([bytes], { type }), { colorSpaceConversion: 'none' });
              return bitmap.then(
                () => true,
                () => false,
              );
            }),
          ),
        images.map(({ bytes, type }) => ({ base64: Buffer.from(bytes).toString('base64'), type })),
      ),
    close: () => page.close(),
  };
}
