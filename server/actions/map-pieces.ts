import { createStoreCache, digestBytes, shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { type LoadedProduct, requireModel } from './loaded-product.ts';

/** The maps of models that people work on now. */
const kept = createStoreCache<PackedMap>(64 * 1024 * 1024, ({ packed }) => packed.byteLength);

export interface PackedMap {
  readonly packed: Uint8Array;
  readonly sha256: string;
}

/**
 * The packed piece map of a product's model; see `packPieceMap`.
 * @throws Problem `no-model`, `model-too-complex`, `model-took-too-long`
 */
export async function mapPieces(
  { files, models, stores }: Pick<Context, 'files' | 'models' | 'stores'>,
  loaded: LoadedProduct,
): Promise<PackedMap> {
  const { sha256 } = requireModel(loaded);
  const maps = kept(stores);
  const known = maps.get(sha256);
  if (known) return known;
  return shareInFlight(`pieces ${sha256}`, async () => {
    const packed = await models.mapPieces(files.getPath(sha256), sha256, { product: loaded.product.code });
    const made = { packed, sha256: digestBytes(packed) };
    maps.set(sha256, made);
    return made;
  });
}
