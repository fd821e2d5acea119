import { foldCode } from '../core/codes.ts';
import { checkWeave } from '../core/finish/check-map.ts';
import {
  type Ground,
  IMAGE_TYPES,
  type ImageFormat,
  isNamedView,
  type Quality,
  type Shadow,
  type ShotView,
} from '../core/picture/picture.ts';
import { estimateCamera, LENS, STANDS } from '../core/picture/place-camera.ts';
import { describeSlotFinish } from '../core/picture/plan-layers.ts';
import type { RawPicture } from '../core/ports/renderer.ts';
import type { StoredPicture } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Finding } from '../core/product/finding.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { digest, digestBytes, shareInFlight } from './caching.ts';
import { composePicture } from './compose-picture.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireModel, requireVariant } from './loaded-product.ts';
import { completeChoices } from './product-choices.ts';
import { type RequestedFraming, setCamera } from './set-camera.ts';
import { assignMaterials } from './studio-files.ts';
import { getShare, getTurn } from './turns.ts';

export interface PictureRequest {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly format: ImageFormat;
  readonly view: ShotView;
  readonly ground: Ground;
  readonly framing?: RequestedFraming;
  /** Default `still`. */
  readonly quality?: Quality;
  /** Default `with`. */
  readonly shadow?: Shadow;
  /** Renders a new picture in one piece and does not store it, so that it can be compared with a composed one. */
  readonly direct?: boolean;
  /** Whether many pictures of the product will follow. */
  readonly many?: boolean;
}

/** The fields of a request that its pixels depend on. */
type PixelRequest = Omit<PictureRequest, 'format' | 'direct'>;

export interface Picture extends StoredPicture {
  /** Stored before, composed from layers, or rendered in one piece. */
  readonly source: 'stored' | 'composed' | 'rendered';
}

/**
 * Takes the picture of a variant of the schedule.
 * @throws Problem `unknown-variant`, and as `takePicture`
 */
export async function takeVariantPicture(
  context: Context,
  code: string,
  variant: string,
  request: PictureRequest,
): Promise<Picture> {
  const loaded = await loadProduct(context, code);
  return takePicture(context, loaded, requireVariant(loaded, variant).choices, request);
}

/**
 * Takes the picture of any allowed combination. Slots that are not named have the finish of the default variant.
 * @throws Problem `unknown-slot`, `unknown-finish`, `finish-not-allowed`, `choice-forbidden`, and as `takePicture`
 */
export async function takeChoicePicture(
  context: Context,
  code: string,
  given: Readonly<Record<string, string>>,
  request: PictureRequest,
): Promise<Picture> {
  const loaded = await loadProduct(context, code);
  return takePicture(context, loaded, await completeChoices(context, loaded, given), request);
}

/** A picture before its pixels are made. */
interface FoundPicture {
  /** Digest of everything that its pixels depend on. */
  readonly key: string;
  /**
   * Makes the pixels.
   * @param direct render in one piece, even if the picture can be composed
   * @throws Problem `picture-nothing-to-see`, `renderer-…`
   */
  take(direct?: boolean): Promise<{ readonly raw: RawPicture; readonly source: 'composed' | 'rendered' }>;
}

/**
 * Finds the key of a picture, and how to make its pixels.
 * @throws Problem `no-model`, `picture-nothing-to-see`, `unknown-slot`
 */
export async function findPicture(
  context: Context,
  loaded: LoadedProduct,
  choices: Readonly<Record<string, string>>,
  request: PixelRequest,
): Promise<FoundPicture> {
  const model = requireModel(loaded);
  if (model.survey.counts.triangles === 0) {
    throw new Problem('picture-nothing-to-see', {
      detail: PICTURE_PROBLEMS['picture-nothing-to-see'].noTriangles(loaded.product.code),
    });
  }
  const slotFinishes = loaded.slots
    .filter((slot) => slot.primitives.length > 0)
    .flatMap((slot) => {
      const code = choiceOf(choices, slot.slot);
      return code === undefined ? [] : [{ slot, finish: loaded.finishes.resolve(code) }];
    });
  const { widthPx, heightPx, ground, shadow = 'with', quality = 'still', many = false } = request;
  const camera = await setCamera(context, loaded, request);
  const { mount } = loaded.product;
  const key = digest([
    'product',
    context.studioVersion,
    model.sha256,
    mount,
    slotFinishes.map(describeSlotFinish),
    { widthPx, heightPx, camera, quality, ground, shadow },
  ]);
  return {
    key,
    async take(direct = false) {
      const asked = { loaded, choices, slotFinishes, camera, quality, widthPx, heightPx, ground, shadow, many };
      const composed = direct && shadow !== 'only' ? null : await composePicture(context, asked);
      return composed ? { raw: composed, source: 'composed' } : { raw: await render(), source: 'rendered' };
    },
  };

  function render(): Promise<RawPicture> {
    return context.studioFiles.use(loaded, choices, (studio) =>
      context.renderer.takeProduct(
        {
          file: { key: studio.key, path: studio.path },
          assignments: assignMaterials(studio, choices),
          ...camera,
          mount,
          widthPx,
          heightPx,
          ground,
          shadow: shadow !== 'without',
          quality,
        },
        getTurn(),
      ),
    );
  }
}

/**
 * Takes a picture, or finds it under the digest of everything that determines it. Calls for the same picture at the same time
 * share one rendering.
 * @throws Problem as `findPicture`, and `renderer-…`
 */
export async function takePicture(
  context: Context,
  loaded: LoadedProduct,
  choices: Readonly<Record<string, string>>,
  request: PictureRequest,
): Promise<Picture> {
  const { format, direct = false, shadow } = request;
  const ground: Ground = format === 'jpg' && request.ground === 'transparent' ? 'white' : request.ground;
  const found = await findPicture(context, loaded, choices, { ...request, ground });
  const key = digest([found.key, format]);
  if (direct && shadow !== 'only') return shareInFlight(`${key} direct`, make);
  const stored = await context.pictures.get(key, getShare());
  if (stored) return { ...stored, source: 'stored' };
  return shareInFlight(key, make);

  async function make(): Promise<Picture> {
    getTurn().spend?.(request.widthPx * request.heightPx);
    const { raw, source } = await found.take(direct);
    const bytes = await context.imaging.encode(raw, format);
    const mediaType = IMAGE_TYPES[format];
    if (direct && shadow !== 'only') return { bytes, sha256: digestBytes(bytes), mediaType, source };
    return { ...(await context.pictures.put(key, bytes, mediaType, getShare())), source };
  }
}

interface CameraDescription {
  /** Focal length for a frame of 36 × 24 mm. The short side of every picture counts as the 24 mm. */
  readonly lensMm: number;
  /** From the lens to the middle of the product, m. */
  readonly distanceM: number;
  /** From the front of the product towards +x. */
  readonly yawDegrees: number;
  /** Above the horizon. */
  readonly elevationDegrees: number;
}

/** Facts about a picture that are known without taking it. */
interface PictureDescription {
  readonly product: string;
  /** Slot key to finish code, completed from the default variant. */
  readonly choices: Readonly<Record<string, string>>;
  readonly view: PictureRequest['view'];
  readonly widthPx: number;
  readonly heightPx: number;
  /** Approximate scale in the middle of the product; null for a close-up, and for a model without size. */
  readonly pxPerMm: number | null;
  /** Approximate camera; null whenever the scale is. */
  readonly camera: CameraDescription | null;
  readonly findings: readonly Finding[];
}

/**
 * Describes a picture without taking it: its scale, its camera, and findings such as weaves that are finer than its pixels.
 * @throws Problem as `takeChoicePicture`, without those of the studio
 */
export async function describePicture(
  context: Context,
  code: string,
  given: Readonly<Record<string, string>>,
  request: Pick<PictureRequest, 'view' | 'widthPx' | 'heightPx' | 'framing'>,
): Promise<PictureDescription> {
  const loaded = await loadProduct(context, code);
  const { survey } = requireModel(loaded);
  const choices = await completeChoices(context, loaded, given);
  const { view, widthPx, heightPx } = request;
  const { framing } = await setCamera(context, loaded, request);
  const { mount } = loaded.product;
  const place =
    survey.size && isNamedView(view)
      ? estimateCamera({ size: survey.size, mount, view, widthPx, heightPx, ...framing })
      : null;
  const pxPerMm = place && place.pxPerM / 1000;
  const findings = loaded.slots.flatMap((slot): Finding[] => {
    const finish = loaded.finishes.byCode.get(foldCode(choiceOf(choices, slot.slot) ?? ''));
    if (!finish) return [];
    return checkWeave({
      finish: finish.finish,
      article: finish.article ? loaded.finishes.articles.get(foldCode(finish.article)) : null,
      tile: loaded.finishes.resolve(finish.finish).tile,
      where: `slot ${slot.slot}`,
      pxPerMm,
    });
  });
  const camera = place &&
    isNamedView(view) && {
      lensMm: LENS.focalMm,
      distanceM: Number(place.distanceM.toFixed(3)),
      ...STANDS[view],
    };
  return { product: loaded.product.code, choices, view, widthPx, heightPx, pxPerMm, camera: camera || null, findings };
}
