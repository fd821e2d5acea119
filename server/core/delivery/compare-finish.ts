import { canonical, isPlain } from '../canonical.ts';
import { deltaE2000, hexToLab, type Lab } from '../colour/lab.ts';
import type { Article, Finish } from '../finish/finish.ts';
import { listDifferences } from '../history/compare-values.ts';
import { MAP_WORDS, SURFACE_WORDS, DELIVERY_CHANGES as texts } from '../texts/delivery-changes.ts';
import type { DeliveryManifest } from './delivery.ts';

type DeliveredFinish = DeliveryManifest['finishes'][number];

/** A revision of a finish with its article, as they were stored, and the look that they give. */
export interface DefinedFinish {
  readonly finish: Finish;
  readonly article: Article | null;
  /** See `toLook`. */
  readonly look: Readonly<Record<string, unknown>>;
}

export type FinishChangeKind =
  | 'finish-renamed'
  | 'finish-recoloured'
  | 'finish-maps'
  | 'finish-repeat'
  | 'finish-gloss'
  | 'finish-surface'
  | 'finish-supplied'
  | 'finish-changed';

export interface FinishChange {
  readonly kind: FinishChangeKind;
  /** ΔE00 between the two delivered colours, to a hundredth; only of `finish-recoloured`. */
  readonly deltaE?: number;
  readonly message: string;
}

/** Fields of finishes and articles that no delivery contains. */
const UNDELIVERED: ReadonlySet<string> = new Set([
  'revision',
  'names',
  'reference',
  'display',
  'supplier',
  'note',
  'tags',
  'status',
  'companions',
  'composition',
  'metalName',
  'threadsPerCm',
]);

/** A smaller step in roughness or clearcoat is invisible: a new colour alone moves a measured gloss by as much. */
const SEEN_STEP = 0.005;

const GLOSS = ['roughness', 'clearcoat', 'clearcoatRoughness'] as const;
const SURFACE = [
  'metalness',
  'sheen',
  'transmission',
  'ior',
  'volume',
  'specular',
  'anisotropy',
  'iridescence',
  'emissive',
] as const;

/**
 * What differs in a finish that two deliveries both have.
 * @param was null if the history does not have that revision
 * @param variants how many variants wear it, for the messages
 */
export function compareFinish(
  before: DeliveredFinish,
  after: DeliveredFinish,
  was: DefinedFinish | null,
  is: DefinedFinish | null,
  variants: number,
): FinishChange[] {
  const isStored = was !== null && is !== null && !changesDelivery(was, is) && !differs(was.look, is.look);
  if (isStored && isSameMeasured(before, after)) return [];
  const { name } = after;
  const changes: FinishChange[] = [];
  if (before.name !== name) {
    changes.push({ kind: 'finish-renamed', message: texts.finishRenamed({ was: before.name, is: name }, variants) });
  }
  if (isRecoloured(before, after)) {
    const deltaE = Math.round(deltaE2000(labOf(before), labOf(after)) * 100) / 100;
    changes.push({ kind: 'finish-recoloured', deltaE, message: texts.recoloured(name, deltaE, variants) });
  }
  const maps = Object.keys(MAP_WORDS).filter((map) => (before.maps as Fields)[map] !== (after.maps as Fields)[map]);
  if (maps.length > 0) {
    const words = maps.map((map) => MAP_WORDS[map]!);
    changes.push({ kind: 'finish-maps', message: texts.maps(name, words, variants) });
  }
  if (before.supplied !== after.supplied) {
    changes.push({ kind: 'finish-supplied', message: texts.supplied(name, variants) });
  }
  if (was && is) changes.push(...compareLooks(was, is, { name, variants, others: changes.length }));
  else if (changes.length === 0) changes.push({ kind: 'finish-changed', message: texts.finishChanged(name, variants) });
  return changes;
}

type Fields = Readonly<Record<string, unknown>>;

/** @param others changes that are known already */
function compareLooks(
  was: DefinedFinish,
  is: DefinedFinish,
  { name, variants, others }: { readonly name: string; readonly variants: number; readonly others: number },
): FinishChange[] {
  const changes: FinishChange[] = [];
  if (differs(was.look.tile, is.look.tile) && was.look.tile && is.look.tile) {
    changes.push({ kind: 'finish-repeat', message: texts.repeat(name, variants) });
  }
  const gloss = GLOSS.map((field) => ({
    field: SURFACE_WORDS[field]!,
    was: Number(was.look[field] ?? 0),
    is: Number(is.look[field] ?? 0),
  }));
  const seen = gloss.filter((each) => Math.abs(each.was - each.is) >= SEEN_STEP);
  if (seen.length > 0) changes.push({ kind: 'finish-gloss', message: texts.gloss(name, seen, variants) });
  const surface: string[] = SURFACE.filter((field) => differs(withoutColour(field, was), withoutColour(field, is)));
  if (was.finish.family !== is.finish.family) surface.unshift('family');
  const changeSurface = (fields: readonly string[]) =>
    changes.push({
      kind: 'finish-surface',
      message: texts.surface(
        name,
        fields.map((field) => SURFACE_WORDS[field] ?? field),
        variants,
      ),
    });
  if (surface.length > 0) changeSurface(surface);
  // what follows from another change is not said twice: a sheen is by default as light as the colour under it
  if (others + changes.length === 0 && differs(was.look, is.look)) {
    changeSurface([...GLOSS, ...SURFACE].filter((field) => differs(was.look[field], is.look[field])));
  }
  return changes;
}

function withoutColour(field: string, { look }: DefinedFinish): unknown {
  const value = look[field];
  return field === 'sheen' && isPlain(value) ? { ...value, colour: null } : value;
}

/**
 * Whether two deliveries have the same colour and maps of a finish. They can differ at the same revision: a map that could not
 * be measured for the first one is levelled in the second.
 */
export function isSameMeasured(before: DeliveredFinish, after: DeliveredFinish): boolean {
  if (before.hex !== after.hex || differs(before.maps, after.maps)) return false;
  // absent in deliveries older than levelled maps
  return before.delivered === undefined || !differs(before.delivered, after.delivered);
}

function isRecoloured(before: DeliveredFinish, after: DeliveredFinish): boolean {
  if (before.hex !== after.hex) return true;
  if (before.specified !== undefined && differs(before.specified, after.specified)) return true;
  return Boolean(before.delivered && after.delivered) && differs(before.delivered?.lab, after.delivered?.lab);
}

const differs = (one: unknown, other: unknown) => one !== other && canonical(one) !== canonical(other);

/** The delivered colour, D65, 2°. Where a colour map could not be measured, the colour of the chip. */
function labOf({ delivered, hex }: DeliveredFinish): Lab {
  return delivered?.lab ?? hexToLab(hex);
}

/** Whether a change of a finish or of its article reaches deliveries. */
function changesDelivery(was: DefinedFinish, is: DefinedFinish): boolean {
  if (hasDelivered(was.finish, is.finish, new Set())) return true;
  if (was.article === null || is.article === null) return was.article !== is.article;
  return hasDelivered(was.article, is.article, new Set(['name']));
}

function hasDelivered(before: object, after: object, more: ReadonlySet<string>): boolean {
  return listDifferences(before, after).some(({ field }) => {
    const [first = ''] = field.split('.');
    return !UNDELIVERED.has(first) && !more.has(first);
  });
}
