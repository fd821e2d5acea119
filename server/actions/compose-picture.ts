import { LRUCache } from 'lru-cache';
import { type Quality, type Shadow, toGroundLevels } from '../core/picture/picture.ts';
import {
  describeSlotFinish,
  type LayerPlan,
  type PlannedLayer,
  planLayers,
  type SlotFinish,
  type SuppliedCover,
} from '../core/picture/plan-layers.ts';
import type { LayerMaker, LayersShot, ProductShot, RawLayer, RawPicture } from '../core/ports/renderer.ts';
import { Problem } from '../core/problems.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { digest } from './caching.ts';
import type { Context, StudioModel } from './context.ts';
import { type LoadedProduct, requireModel } from './loaded-product.ts';
import type { Camera } from './set-camera.ts';
import { assignMaterials } from './studio-files.ts';
import { getTurn } from './turns.ts';

/** A combination to compose. */
interface ComposeRequest extends Pick<ProductShot, 'widthPx' | 'heightPx' | 'ground'> {
  readonly camera: Camera;
  readonly quality: Quality;
  readonly loaded: LoadedProduct;
  readonly choices: Readonly<Record<string, string>>;
  readonly slotFinishes: readonly SlotFinish[];
  readonly shadow: Shadow;
  /** Whether many pictures of the product will follow: then all missing layers are taken. */
  readonly many: boolean;
}

/**
 * Most layers that are taken for a single picture: those of one shot. They take 1.0 to 1.3 times as long as a direct picture,
 * and half as long again for each layer that blends, but later pictures reuse them. With more layers, the first picture of a
 * product with many slots would take too long.
 */
const TAKEN_FOR_ONE = 12;

/**
 * Composes a picture from its layers, and takes the missing ones.
 * @returns null if the picture must be rendered directly: its layers cannot be summed, or too many are missing for one picture
 * @throws Problem `renderer-…`
 */
export async function composePicture(context: Context, request: ComposeRequest): Promise<RawPicture | null> {
  const plan = await planWorn(context, request);
  const layers = pickLayers(plan, request);
  if (layers === null) return null;
  const recalled = await context.layers.recallMaker();
  // if no layer is missing, this needs no browser; layers of another studio version are never used
  if (recalled?.studio === context.studioVersion) {
    const there = await compose(context, request, layers, recalled, 0).catch(passOtherMaker);
    if (there) return there;
  }
  // every way to take the picture needs the file, so it is made while a browser starts
  context.studioFiles.use(request.loaded, request.choices, async () => undefined).catch(() => undefined);
  const takeAtMost = request.many ? Number.POSITIVE_INFINITY : TAKEN_FOR_ONE;
  const known = toMaker(await context.renderer.getFacts(getTurn()));
  try {
    return await compose(context, request, layers, known, takeAtMost);
  } catch (error) {
    if (!(error instanceof OtherMaker)) throw error;
    // the browser restarted with another driver, so all layers of the picture must come from that one
    return compose(context, request, layers, error.maker, takeAtMost).catch(refuseOtherMaker);
  }
}

/** The shadow alone is always a layer. If the layers cannot be summed, it is the shadow of this combination. */
function pickLayers(plan: LayerPlan, { shadow, slotFinishes }: ComposeRequest): readonly PlannedLayer[] | null {
  if (plan.way === 'direct')
    return shadow === 'only' ? [{ shows: 'ground', determines: slotFinishes.map(describeSlotFinish) }] : null;
  if (shadow === 'with') return plan.layers;
  return plan.layers.filter(({ shows }) => (shows === 'ground') === (shadow === 'only'));
}

class OtherMaker extends Error {
  readonly maker: LayerMaker;
  constructor(maker: LayerMaker) {
    super('the layer was taken with another browser or driver than the others');
    this.maker = maker;
  }
}

/** A layer that another call asked for came from another maker, so it counts as missing. */
function passOtherMaker(error: unknown): null {
  if (error instanceof OtherMaker) return null;
  throw error;
}

function refuseOtherMaker(error: unknown): never {
  if (!(error instanceof OtherMaker)) throw error;
  throw new Problem('renderer-failed', {
    detail: PICTURE_PROBLEMS['renderer-failed'].driverChanged,
    cause: error,
  });
}

function compose(
  context: Context,
  request: ComposeRequest,
  planned: readonly PlannedLayer[],
  maker: LayerMaker,
  takeAtMost: number,
): Promise<RawPicture | null> {
  const { widthPx, heightPx, ground } = request;
  return context.layers.compose({
    widthPx,
    heightPx,
    layers: planned.map((layer) => toKey(request, layer, maker)),
    ground: toGroundLevels(ground),
    turn: getTurn(),
    takeAtMost,
    take: (places) =>
      take(
        context,
        request,
        places.map((place) => planned[place]!),
        maker,
      ),
  });
}

/** The key of a layer: everything that its pixels depend on. The background and the format do not belong to it. */
function toKey(request: ComposeRequest, layer: PlannedLayer, maker: LayerMaker): string {
  const { loaded, camera, quality, widthPx, heightPx } = request;
  return digest([
    'layer',
    maker,
    requireModel(loaded).sha256,
    loaded.product.mount,
    { camera, quality, widthPx, heightPx },
    layer.shows === 'rest' || layer.shows === 'ground' ? layer.shows : 'slot',
    layer.determines,
  ]);
}

function take(
  context: Context,
  { loaded, choices, camera, quality, widthPx, heightPx }: ComposeRequest,
  planned: readonly PlannedLayer[],
  maker: LayerMaker,
): Promise<readonly RawLayer[]> {
  return context.studioFiles.use(loaded, choices, async (studio) => {
    const shot: LayersShot = {
      file: { key: studio.key, path: studio.path },
      // parts without a finish belong to the rest
      assignments: assignMaterials(studio, choices).filter(({ material }) => material !== null),
      layers: planned.map(({ shows }) => (typeof shows === 'string' ? shows : listParts(studio, shows.slot))),
      ...camera,
      mount: loaded.product.mount,
      widthPx,
      heightPx,
      quality,
    };
    const raws = await context.renderer.takeLayers(shot, getTurn());
    const other = raws.find((raw) => digest(raw.maker) !== digest(maker));
    if (other) throw new OtherMaker(other.maker);
    return raws;
  });
}

function listParts({ parts }: StudioModel, slot: string) {
  return parts.filter((part) => part.slot === slot);
}

async function planWorn(context: Context, { loaded, slotFinishes }: ComposeRequest): Promise<LayerPlan> {
  const covers = new Map<string, SuppliedCover>();
  for (const { finish } of slotFinishes) {
    if (finish.supplied !== null) covers.set(finish.supplied, await readCover(context, finish.supplied));
  }
  return planLayers({
    survey: requireModel(loaded).survey,
    mount: loaded.product.mount,
    slotFinishes: slotFinishes.filter(({ slot }) => !slot.fixed),
    coverOf: (supplied) => covers.get(supplied),
  });
}

/** By the digest of the file, whose content never changes. */
const covers = new LRUCache<string, SuppliedCover, Context>({
  max: 500,
  fetchMethod: (sha256, _stale, { context: { models, files } }) => models.readCover(files.getPath(sha256)),
});

const readCover = (context: Context, sha256: string): Promise<SuppliedCover> => covers.forceFetch(sha256, { context });

function toMaker({ browser, gl, studio }: LayerMaker): LayerMaker {
  return { browser, gl, studio };
}
