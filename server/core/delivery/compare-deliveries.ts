import { canonical } from '../canonical.ts';
import { foldCode } from '../codes.ts';
import type { Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import { choiceOf } from '../schedule/schedule.ts';
import { SLICE, type Sliced } from '../slices.ts';
import { DELIVERY_CHANGES as texts } from '../texts/delivery-changes.ts';
import { compareFinish, type DefinedFinish, type FinishChange, isSameMeasured } from './compare-finish.ts';
import type { DeliveryManifest } from './delivery.ts';

/** What a delivery holds, or what the next one would. The manifest of a delivery is one. */
export interface Holding extends Pick<DeliveryManifest, 'names' | 'default' | 'variants' | 'finishes' | 'slots'> {
  /** Null without a model now. */
  readonly model: DeliveryManifest['model'] | null;
  /** Absent before it is written. */
  readonly file?: DeliveryManifest['file'];
}

export const DELIVERY_CHANGE_KINDS = [
  'model-changed',
  'names-changed',
  'slot-added',
  'slot-removed',
  'slot-changed',
  'variant-withdrawn',
  'variant-renamed',
  'variant-added',
  'variant-choices',
  'variant-gtin',
  'finish-renamed',
  'finish-recoloured',
  'finish-maps',
  'finish-repeat',
  'finish-gloss',
  'finish-surface',
  'finish-supplied',
  'finish-changed',
  'shop-data',
  'default-changed',
  'order-changed',
  'weight-changed',
  'file-changed',
] as const;
export type DeliveryChangeKind = (typeof DELIVERY_CHANGE_KINDS)[number];

/** One difference between two deliveries. The same change in many variants is one. */
export interface DeliveryChange {
  readonly kind: DeliveryChangeKind;
  /** Code of the variant, where there is only one. */
  readonly variant?: string;
  readonly slot?: string;
  readonly finish?: string;
  /** ΔE00 between the delivered colours, to a hundredth. */
  readonly deltaE?: number;
  /** How many variants it concerns; 0 where no variant looks different. */
  readonly variants: number;
  /** A shop that selects variants by their names in the file must change its settings. */
  readonly breaking?: true;
  readonly message: string;
}

export interface Comparison {
  /** In the order of `DELIVERY_CHANGE_KINDS`; empty if the deliveries are the same. */
  readonly changes: readonly DeliveryChange[];
  /** How many variants differ in any way: new, withdrawn, or changed. */
  readonly variants: number;
}

/** What a comparison knows besides the two deliveries. */
export interface Background {
  /** Finishes that were saved in between, by folded code; null where the history lacks a revision. */
  readonly finishes: ReadonlyMap<string, { readonly was: DefinedFinish | null; readonly is: DefinedFinish | null }>;
  /** Overall sizes of the two models, if both are known. */
  readonly size: { readonly was: Survey['size']; readonly is: Survey['size'] } | null;
  /** Labels of slots, by key. */
  readonly labels: ReadonlyMap<string, string>;
}

/** Changes of a kind that are listed one by one; the others are counted. */
const LISTED = 100;

/** What differs between two deliveries, or between the last one and the next. Linear in the number of variants. */
export function* compareDeliveries(before: Holding, after: Holding, background: Background): Sliced<Comparison> {
  const differing = new Set<string>();
  const { listed, shared, uses } = yield* compareVariants(before, after, background, differing);
  const markAll = () => {
    for (const code of shared) differing.add(code);
    return shared.length;
  };
  const changes = [
    ...compareModels(before, after, background, markAll),
    ...(before.names === after.names
      ? []
      : [
          {
            kind: 'names-changed' as const,
            variants: markAll(),
            breaking: true as const,
            message: texts.names(after.names),
          },
        ]),
    ...compareSlots(before, after, background, markAll),
    ...listed,
    ...compareFinishes(before, after, background, uses, differing),
    ...compareShopData(before, after, uses, differing),
    ...(yield* compareOrder(before, after)),
  ];
  return {
    changes: [...changes, ...compareFiles(before, after, changes.length > 0, markAll)],
    variants: differing.size,
  };
}

/** Whether two deliveries hold the same, as far as they say it themselves: a finish that was saved in between is another. */
export function* isSameHolding(before: Holding, after: Holding): Sliced<boolean> {
  const known: Background = { finishes: new Map(), size: null, labels: new Map() };
  const { changes } = yield* compareDeliveries(before, after, known);
  return changes.length === 0;
}

type Listed = DeliveryManifest['variants'][number];

function* compareVariants(before: Holding, after: Holding, { labels }: Background, differing: Set<string>) {
  const earlier = new Map<string, Listed>();
  for (const [at, variant] of before.variants.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    earlier.set(foldCode(variant.code), variant);
  }
  const names = new Map([...before.finishes, ...after.finishes].map(({ finish, name }) => [foldCode(finish), name]));
  const nameOf = (code: string | undefined) => (code === undefined ? null : (names.get(foldCode(code)) ?? code));
  const byName = after.names === 'name';
  const added: DeliveryChange[] = [];
  const renamed: DeliveryChange[] = [];
  const gtins: DeliveryChange[] = [];
  const choices = new Map<string, { slot: string; was?: string; is?: string; in: Listed[] }>();
  const uses = new Map<string, string[]>();
  const shared: string[] = [];
  yield;
  for (const [at, variant] of after.variants.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    const key = foldCode(variant.code);
    for (const finish of new Set(Object.values(variant.choices).map(foldCode))) {
      const users = uses.get(finish);
      if (users) users.push(key);
      else uses.set(finish, [key]);
    }
    const was = earlier.get(key);
    if (!was) {
      differing.add(key);
      added.push({ kind: 'variant-added', variant: variant.code, variants: 1, message: texts.added(variant) });
      continue;
    }
    earlier.delete(key);
    shared.push(key);
    const one = { variant: variant.code, variants: 1 };
    if (was.name !== variant.name || was.code !== variant.code) {
      differing.add(key);
      const message =
        was.name === variant.name
          ? texts.recoded({ was: was.code, is: variant.code })
          : texts.renamed({ code: variant.code, was: was.name, is: variant.name }, byName);
      const breaks = byName ? was.name !== variant.name : was.code !== variant.code;
      renamed.push({ kind: 'variant-renamed', ...one, ...(breaks && { breaking: true }), message });
    }
    if (was.gtin !== variant.gtin) {
      differing.add(key);
      gtins.push({ kind: 'variant-gtin', ...one, message: texts.gtin(variant, was.gtin, variant.gtin) });
    }
    for (const slot of listChanged(was.choices, variant.choices)) {
      differing.add(key);
      const [from, to] = [choiceOf(was.choices, slot), choiceOf(variant.choices, slot)];
      const group = `${slot} ${from} ${to}`;
      const known = choices.get(group);
      if (known) known.in.push(variant);
      else
        choices.set(group, {
          slot,
          ...(from !== undefined && { was: from }),
          ...(to !== undefined && { is: to }),
          in: [variant],
        });
    }
  }
  const withdrawn: DeliveryChange[] = [];
  for (const [key, variant] of earlier) {
    if (withdrawn.length % SLICE === SLICE - 1) yield;
    differing.add(key);
    const message = texts.withdrawn(variant);
    withdrawn.push({ kind: 'variant-withdrawn', variant: variant.code, variants: 1, breaking: true, message });
  }
  yield;
  const chosen = [...choices.values()].map(({ slot, was, is, in: variants }): DeliveryChange => {
    const only = variants.length === 1 ? variants[0]! : null;
    const message = texts.choice(labels.get(slot) ?? slot, nameOf(was), nameOf(is), variants.length, only);
    const finish = is ?? was;
    return {
      kind: 'variant-choices',
      ...(only && { variant: only.code }),
      slot,
      ...(finish !== undefined && { finish }),
      variants: variants.length,
      message,
    };
  });
  const listed = [withdrawn, renamed, added, chosen.sort((a, b) => b.variants - a.variants), gtins].flatMap(shorten);
  return { listed, shared, uses };
}

/** Slots whose finish is another one, in either of two sets of choices. */
function listChanged(was: Listed['choices'], is: Listed['choices']): string[] {
  const changed = Object.keys(is).filter((slot) => {
    const before = choiceOf(was, slot);
    return before !== is[slot] && (before === undefined || foldCode(before) !== foldCode(is[slot]!));
  });
  for (const slot of Object.keys(was)) if (!Object.hasOwn(is, slot)) changed.push(slot);
  return changed;
}

/** The first changes of one kind, and one that counts the others. */
function shorten(changes: readonly DeliveryChange[]): readonly DeliveryChange[] {
  if (changes.length <= LISTED) return changes;
  const rest = changes.slice(LISTED);
  const [{ kind }] = rest as [DeliveryChange];
  const variants = rest.reduce((sum, change) => sum + change.variants, 0);
  const breaking = rest.some((change) => change.breaking) && ({ breaking: true } as const);
  const message = texts.more[kind as keyof typeof texts.more](variants);
  return [...changes.slice(0, LISTED), { kind, variants, ...breaking, message }];
}

function compareModels(
  { model: was }: Holding,
  { model: is }: Holding,
  { size }: Background,
  markAll: () => number,
): DeliveryChange[] {
  if (!was || was.sha256 === is?.sha256) return [];
  const sizes =
    size?.was && size.is && canonical(size.was) !== canonical(size.is) ? { was: size.was, is: size.is } : null;
  const bytes = { was: was.bytes, is: is?.bytes ?? 0 };
  const message = texts.model(was.revision, is?.revision ?? null, sizes, bytes);
  return [{ kind: 'model-changed', variants: markAll(), message }];
}

type DeliveredSlot = Holding['slots'][number];

/** A slot that only has another label is delivered as before. */
function compareSlots(before: Holding, after: Holding, { labels }: Background, markAll: () => number) {
  const earlier = new Map(before.slots.map((slot) => [slot.slot, slot]));
  const labelOf = (slot: string) => labels.get(slot) ?? slot;
  const change = (kind: DeliveryChangeKind, slot: string, message: string): DeliveryChange => {
    return { kind, slot, variants: markAll(), message };
  };
  const changes = after.slots.flatMap((slot) => {
    const key = slot.slot;
    const was = earlier.get(key);
    earlier.delete(key);
    if (!was) return [change('slot-added', key, texts.slotAdded(labelOf(key)))];
    const what = describeSlotChange(was, slot);
    return what.length === 0 ? [] : [change('slot-changed', key, texts.slot(labelOf(key), what))];
  });
  const removed = [...earlier.keys()].map((key) => change('slot-removed', key, texts.slotRemoved(labelOf(key))));
  return [...removed, ...changes];
}

function describeSlotChange(was: DeliveredSlot, is: DeliveredSlot): string[] {
  const isTurned = was.grainDegrees !== is.grainDegrees || canonical(was.directions) !== canonical(is.directions);
  return [
    ...(was.fixed === is.fixed ? [] : [texts.slotFixed(is.fixed)]),
    ...(canonical(was.keep) === canonical(is.keep) ? [] : [texts.slotKeep]),
    ...(isTurned ? [texts.slotGrain({ was: was.grainDegrees, is: is.grainDegrees })] : []),
    ...(was.materialName === is.materialName
      ? []
      : [texts.slotMaterial({ was: was.materialName, is: is.materialName })]),
  ];
}

function compareFinishes(
  before: Holding,
  after: Holding,
  { finishes }: Background,
  uses: ReadonlyMap<string, readonly string[]>,
  differing: Set<string>,
): DeliveryChange[] {
  const earlier = new Map(before.finishes.map((finish) => [foldCode(finish.finish), finish]));
  return after.finishes.flatMap((is) => {
    const key = foldCode(is.finish);
    const was = earlier.get(key);
    if (!was || (was.revision === is.revision && isSameMeasured(was, is))) return [];
    const users = uses.get(key) ?? [];
    const defined = finishes.get(key);
    const changes: FinishChange[] = compareFinish(was, is, defined?.was ?? null, defined?.is ?? null, users.length);
    if (changes.length > 0) for (const user of users) differing.add(user);
    return changes.map((change): DeliveryChange => ({ ...change, finish: is.finish, variants: users.length }));
  });
}

/** What only the shop data says of a finish. Older deliveries do not say it. */
function compareShopData(
  before: Holding,
  after: Holding,
  uses: ReadonlyMap<string, readonly string[]>,
  differing: Set<string>,
): DeliveryChange[] {
  const earlier = new Map(before.finishes.map((finish) => [foldCode(finish.finish), finish]));
  const told = ({ grade, status, names, family }: Holding['finishes'][number]) =>
    canonical({ grade, status, names, family });
  const changed = after.finishes.filter((is) => {
    const was = earlier.get(foldCode(is.finish));
    return was?.status !== undefined && told(was) !== told(is);
  });
  if (changed.length === 0) return [];
  const variants = new Set(changed.flatMap(({ finish }) => uses.get(foldCode(finish)) ?? []));
  for (const variant of variants) differing.add(variant);
  const message = texts.shopData(changed.map(({ name }) => name));
  return [
    {
      kind: 'shop-data',
      ...(changed.length === 1 && { finish: changed[0]!.finish }),
      variants: variants.size,
      message,
    },
  ];
}

function* compareOrder(before: Holding, after: Holding): Sliced<DeliveryChange[]> {
  const changes: DeliveryChange[] = [];
  if (foldCode(before.default) !== foldCode(after.default) && after.variants.length > 0) {
    const message = texts.default({ was: before.default, is: after.default });
    changes.push({ kind: 'default-changed', variant: after.default, variants: 0, message });
  }
  const places = new Map<string, number>();
  for (const [place, { code }] of before.variants.entries()) {
    if (place % SLICE === 0) yield;
    places.set(foldCode(code), place);
  }
  let last = -1;
  let inOrder = true;
  for (const [at, { code }] of after.variants.entries()) {
    if (at % SLICE === 0) yield;
    const place = places.get(foldCode(code)) ?? last;
    if (place < last) inOrder = false;
    last = place;
  }
  if (!inOrder) {
    changes.push({ kind: 'order-changed', variants: 0, message: texts.order });
  }
  return changes;
}

function compareFiles(
  { file: was }: Holding,
  { file: is }: Holding,
  isExplained: boolean,
  markAll: () => number,
): DeliveryChange[] {
  if (!was || !is || was.sha256 === is.sha256) return [];
  const changes: DeliveryChange[] = [];
  if (was.bytes !== is.bytes) {
    changes.push({ kind: 'weight-changed', variants: 0, message: texts.weight(was.bytes, is.bytes) });
  }
  if (!isExplained) changes.push({ kind: 'file-changed', variants: markAll(), message: texts.file });
  return changes;
}

/** The fields of a slot that a delivery says. */
export function pickDelivered({ slot, materialName, fixed, keep, grainDegrees, directions }: Slot): DeliveredSlot {
  return { slot, materialName, fixed, keep, grainDegrees, ...(directions && { directions }) };
}
