import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
import { SLICE } from '../core/slices.ts';
import type { Context } from './context.ts';
import { selectOne, selectPart, unknownForm } from './delivery-forms.ts';
import { giveTurn } from './in-turns.ts';
import { FEED_FORMATS, openFeed } from './shop-feed.ts';

type Bundling = Pick<Context, 'stores' | 'files'>;

/** A file of a bundle before it is planned: its path below the delivery, and where its bytes come from. */
export type BundleSource =
  | { readonly form: string; readonly text: string }
  | { readonly form: string; readonly path: string }
  | { readonly form: string; readonly select: { variants: readonly number[]; first: number; withExtension: boolean } };

/**
 * The files of a bundle, in this layout: a folder `{product}-{delivery}` with `manifest.json` and every other file at the path that it
 * has below the address of the delivery (`model.glb`, `variants/OAK.glb`, `parts/article-wool.glb`, `samples.glb`, `forms/webp.glb` …).
 * @param forms what to put in; left out, every file of the list of the delivery. `variants` is a GLB for each variant.
 * @param base what stands before each path of this service in the addresses of the shop data, which are asked for with `feed`
 * @throws Problem `unknown-form`
 */
export async function planBundle(
  { stores, files }: Bundling,
  manifest: DeliveryManifest,
  forms: readonly string[] | null,
  base: string,
): Promise<BundleSource[]> {
  const { product, delivery } = manifest;
  const known = await stores.listDeliveryFiles(product, delivery);
  const sources: BundleSource[] = [{ form: 'manifest.json', text: await writeManifest(manifest) }];
  const model: BundleSource = { form: 'model.glb', path: files.getPath(manifest.file.sha256) };
  const toSource = (file: DeliveryFile): BundleSource =>
    file.stored
      ? { form: file.form, path: files.getPath(file.sha256!) }
      : { form: file.form, select: selectPart(manifest, file) };
  const listed = known.filter(({ form, stored }) => stored || form.startsWith('parts/'));
  if (forms === null) return [...sources, model, ...listed.map(toSource)];
  for (const asked of new Set(forms)) {
    if (asked === 'model') sources.push(model);
    else if (asked === 'variants') {
      manifest.variants.forEach(({ code }, index) => {
        sources.push({ form: `variants/${code}.glb`, select: selectOne(index) });
      });
    } else if (asked === 'feed') {
      for (const format of FEED_FORMATS) {
        const { text } = await openFeed({ stores }, product, String(delivery), { format, base, bom: false });
        sources.push({ form: `feed.${format}`, text: await readAll(text) });
      }
    } else {
      const found = listed.filter(({ form }) => belongsTo(form, asked));
      if (found.length === 0) throw unknownForm(manifest, asked);
      sources.push(...found.map(toSource));
    }
  }
  return sources;
}

async function readAll(text: AsyncIterable<string>): Promise<string> {
  let whole = '';
  for await (const piece of text) whole += piece;
  return whole;
}

/** Manifests of many variants are written in slices, with turns for others in between. */
async function writeManifest({ variants, ...rest }: DeliveryManifest): Promise<string> {
  const rows: string[] = [];
  for (let from = 0; from < variants.length; from += SLICE) {
    rows.push(...variants.slice(from, from + SLICE).map((variant) => JSON.stringify(variant)));
    await giveTurn();
  }
  return `{"variants":[${rows.join(',')}],${JSON.stringify(rest).slice(1)}`;
}

/** Whether a file belongs to what a caller names: a folder, a kind of file, or one file with or without its ending. */
function belongsTo(form: string, asked: string): boolean {
  if (asked === 'usdz') return /^variants\/.*\.usdz$/.test(form);
  if (asked === 'usd') return /^product\.usd[zac]?$/.test(form);
  return (
    form.startsWith(`${asked}/`) || form === asked || form.replace(/^forms\//, '').replace(/\.[^.]+$/, '') === asked
  );
}
