import { describeConflict, explainConflict } from '../core/combinations/explain-conflict.ts';
import { compileRules } from '../core/line/compile-rules.ts';
import { describeRule } from '../core/line/describe-line.ts';
import { listOptions, listRange } from '../core/line/options.ts';
import {
  type Ground,
  IMAGE_TYPES,
  type ImageFormat,
  type Quality,
  type Shadow,
  type ShotView,
} from '../core/picture/picture.ts';
import { describeWorn } from '../core/picture/plan-layers.ts';
import type { StoredPicture } from '../core/ports/files.ts';
import type { RawPicture } from '../core/ports/renderer.ts';
import { Problem } from '../core/problems.ts';
import { makePairTable } from '../core/schedule/make-pair-table.ts';
import { listBreaches } from '../core/schedule/rule-effects.ts';
import { checkChoices, choiceOf } from '../core/schedule/schedule.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { composePicture } from './compose-picture.ts';
import type { Context } from './context.ts';
import { digest, digestBytes } from './digest.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireModel, requireVariant, toRuleScope } from './loaded-product.ts';
import { type RequestedFraming, setCamera } from './set-camera.ts';
import { shareInFlight } from './share-in-flight.ts';
import { assignMaterials } from './studio-files.ts';

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
  /** Whether many pictures of the product are to follow. */
  readonly many?: boolean;
}

/** Everything of a request that its pixels depend on; the format only puts them in a file. */
export type PixelRequest = Omit<PictureRequest, 'format' | 'direct'>;

export interface Picture extends StoredPicture {
  /** Found, summed of its layers, or rendered in one piece. */
  readonly source: 'stored' | 'composed' | 'rendered';
}

/**
 * The product in one variant of its schedule.
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
 * The product in any allowed combination; slots that are not named take what the default variant has.
 * @throws Problem `unknown-slot`, `unknown-finish`, `finish-not-allowed`, `choice-forbidden`, and as `takePicture`
 */
export async function takeChoicePicture(
  context: Context,
  code: string,
  given: Readonly<Record<string, string>>,
  request: PictureRequest,
): Promise<Picture> {
  const loaded = await loadProduct(context, code);
  return takePicture(context, loaded, needAllowed(loaded, given), request);
}

/**
 * A combination with what the default variant has in the slots that are not named.
 * @throws Problem `unknown-slot`, `unknown-finish`, `finish-not-allowed`, `choice-forbidden`
 */
export function needAllowed(loaded: LoadedProduct, given: Readonly<Record<string, string>>): Record<string, string> {
  const bySlot = new Map(loaded.slots.map((slot) => [slot.slot, slot]));
  const choices = checkChoices(given, bySlot, loaded.finishes.byCode, 'choice');
  refuseOutsideOptions(loaded, choices);
  const standing = loaded.schedule?.schedule;
  const byDefault = standing?.variants.find((variant) => variant.code === standing.default)?.choices ?? {};
  const all = { ...byDefault, ...choices };
  refuseForbidden(loaded, all, choices);
  return all;
}

function refuseOutsideOptions(loaded: LoadedProduct, choices: Readonly<Record<string, string>>): void {
  const range = listRange(loaded.line, loaded.finishes.byCode);
  for (const [key, code] of Object.entries(choices)) {
    const slot = loaded.slots.find((candidate) => candidate.slot === key)!;
    const allowed = listOptions(slot, loaded.line, range).map((item) => item.finish.finish);
    if (!allowed.includes(code)) {
      throw new Problem('finish-not-allowed', {
        detail: PICTURE_PROBLEMS['finish-not-allowed'](code, slot.label),
        expected: allowed.slice(0, 50),
        received: code,
        where: `choice=${key}:${code}`,
      });
    }
  }
}

/** A rule broken among what the default variant has alone is the schedule's matter, and said in its findings. */
function refuseForbidden(
  loaded: LoadedProduct,
  all: Readonly<Record<string, string>>,
  chosen: Readonly<Record<string, string>>,
): void {
  const breaches = listBreaches(all, compileRules(toRuleScope(loaded)));
  const breach = breaches.find(
    ({ rule }) => Object.hasOwn(chosen, rule.from.slot) || Object.hasOwn(chosen, rule.to.slot),
  );
  if (!breach) return;
  const { rule, from, to } = breach;
  const words = describeRule(rule.rule, loaded.line!.positions);
  const unnamed = [rule.from, rule.to].find(({ slot }) => !Object.hasOwn(chosen, slot));
  // what was named may leave nothing for the rest: then naming a finish for it would not help
  const none = unnamed && sayNoneLeft(loaded, chosen);
  throw new Problem('choice-forbidden', {
    detail: PICTURE_PROBLEMS['choice-forbidden'](
      { finish: from, label: rule.from.label },
      { finish: to, label: rule.to.label },
      words,
      { unnamed: unnamed?.label ?? null, conflict: none ?? null },
    ),
    expected: words,
    received: { [rule.from.slot]: from, [rule.to.slot]: to },
    where: `choice=${rule.to.slot}:${to}`,
  });
}

/** Why the choices that were named cannot be completed; null when they can. */
function sayNoneLeft(loaded: LoadedProduct, chosen: Readonly<Record<string, string>>): string | null {
  const table = makePairTable(toRuleScope(loaded));
  const fixed = table.columns.flatMap(({ key, finishes }, column): [number, number][] => {
    const finish = choiceOf(chosen, key);
    return finish === undefined ? [] : [[column, finishes.indexOf(finish)]];
  });
  const conflict = explainConflict(table, new Map(fixed));
  if (!conflict) return null;
  const next = conflict.choices.length === 0 ? 'Change a rule, or the options.' : 'Choose another.';
  return `${describeConflict(table, conflict)} ${next}`;
}

/** A picture that is known but for its pixels. */
export interface FoundPicture {
  /** Digest of all that its pixels depend on. */
  readonly key: string;
  /**
   * Makes the pixels.
   * @param direct in one piece, whatever could be composed
   * @throws Problem `picture-nothing-to-see`, `renderer-…`
   */
  take(direct?: boolean): Promise<{ readonly raw: RawPicture; readonly source: 'composed' | 'rendered' }>;
}

/**
 * What a picture's pixels depend on, and how they are made.
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
  const worn = loaded.slots
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
    worn.map(describeWorn),
    { widthPx, heightPx, camera, quality, ground, shadow },
  ]);
  return {
    key,
    async take(direct = false) {
      const asked = { loaded, choices, worn, camera, quality, widthPx, heightPx, ground, shadow, many };
      const composed = direct && shadow !== 'only' ? null : await composePicture(context, asked);
      return composed ? { raw: composed, source: 'composed' } : { raw: await render(), source: 'rendered' };
    },
  };

  function render(): Promise<RawPicture> {
    return context.studioFiles.use(loaded, choices, (studio) =>
      context.renderer.takeProduct({
        file: { key: studio.key, path: studio.path },
        dressing: assignMaterials(studio, choices),
        ...camera,
        mount,
        widthPx,
        heightPx,
        ground,
        shadow: shadow !== 'without',
        quality,
      }),
    );
  }
}

/**
 * Takes the picture, or finds it: stored under everything that determines it, so that nothing is rendered twice; a burst
 * for the same picture renders it once.
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
  const stored = await context.pictures.get(key);
  if (stored) return { ...stored, source: 'stored' };
  return shareInFlight(key, make);

  async function make(): Promise<Picture> {
    const { raw, source } = await found.take(direct);
    const bytes = await context.imaging.encode(raw, format);
    const mediaType = IMAGE_TYPES[format];
    if (direct && shadow !== 'only') return { bytes, sha256: digestBytes(bytes), mediaType, source };
    return { ...(await context.pictures.put(key, bytes, mediaType)), source };
  }
}
