// What a delivered file offers: whole variants by its own JSON (KHR_materials_variants), and finishes by position where the
// manifest of the delivery is there too. Pure, and without 3D code: the choices are usable before the product is.

/** One finish at a position, or a whole variant. */
export interface Choice {
  /** Code of the finish, or the place of the variant in the file. */
  readonly key: string;
  readonly name: string;
  /** Colour of its chip, `#rrggbb`; null where the file alone does not tell. */
  readonly hex: string | null;
}

export interface Group {
  /** The slot; empty for the list of variants. */
  readonly key: string;
  /** Empty for the list of variants. */
  readonly label: string;
  readonly choices: readonly Choice[];
}

export interface ViewerVariant {
  /** As in the file. */
  readonly name: string;
  /** Null without a manifest. */
  readonly code: string | null;
  /** Slot to finish; empty without a manifest. */
  readonly choices: Readonly<Record<string, string>>;
}

/** What is chosen: key of a group to key of a choice. */
export type Chosen = ReadonlyMap<string, string>;

/** A primitive, and a material of the file; null for its own. */
export interface Assigned {
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
}

/** What the viewer reads of a manifest. All of it is unchecked, and a part that does not fit is left out. */
interface Manifest {
  readonly productName?: string;
  readonly default?: string;
  readonly variants?: readonly { readonly code: string; readonly name: string; readonly choices: Choices }[];
  readonly finishes?: readonly {
    readonly finish: string;
    readonly name: string;
    readonly hex: string;
    readonly delivered?: { readonly hex: string } | null;
  }[];
  /** Slots with several finishes. */
  readonly groups?: readonly {
    readonly slot: string;
    readonly label: string;
    /** Mesh and primitive of each of its parts in the file. */
    readonly parts: readonly (readonly [mesh: number, primitive: number])[];
  }[];
  /** Finishes of two slots that are not made together. Without it, only the variants themselves are. */
  readonly excluded?:
    | readonly {
        readonly slots: readonly [string, string];
        readonly pairs: readonly (readonly [string, string])[];
      }[]
    | null;
}

type Choices = Readonly<Record<string, string>>;

export interface ViewerPlan {
  /** Null without a manifest. */
  readonly productName: string | null;
  readonly groups: readonly Group[];
  readonly variants: readonly ViewerVariant[];
  /** At first: the default variant of the manifest, else the first. */
  readonly start: number;
  /** @returns the variant's place by its name or its code, the name first; -1 for an unknown one */
  find(nameOrCode: string): number;
  chosenOf(variant: number): Chosen;
  /** The variant with exactly these choices; -1 where they are a combination of their own. */
  variantOf(chosen: Chosen): number;
  /** Whether the rules allow it: with a manifest that lists what they forbid, also what is no variant. */
  isMade(chosen: Chosen): boolean;
  /**
   * What is chosen after one more choice. Where the rules forbid it with another choice, that one changes too; where nothing else
   * fits, the nearest variant is taken.
   */
  choose(chosen: Chosen, group: string, choice: string): Chosen;
  /** The material of each part that varies. */
  assign(chosen: Chosen): readonly Assigned[];
}

interface Part {
  readonly mesh: number;
  readonly primitive: number;
  /** Material by variant. */
  readonly materials: ReadonlyMap<number, number>;
}

/** @param json JSON of a GLB, unchecked @param manifest of the delivery, unchecked; null without one */
export function planChoices(json: unknown, manifest: unknown): ViewerPlan {
  const parts = listParts(json);
  const names = listNames(json);
  const read = asRecord(manifest) as Manifest;
  const variants = names.map((name): ViewerVariant => {
    const known = asList(read.variants).find((each) => each.name === name || each.code === name);
    return { name, code: known?.code ?? null, choices: known?.choices ?? {} };
  });
  const groups = listGroups(read, variants);
  const byPosition = groups.length > 0;
  const shown = byPosition ? groups : listVariants(names);
  const slots = new Map(
    asList(read.groups).flatMap(({ slot, parts }) => asList(parts).map((place) => [place.join('/'), slot] as const)),
  );
  /** Slot and finish to the first variant with it. */
  const firstWith = new Map<string, number>();
  for (const [at, { choices }] of [...variants.entries()].reverse()) {
    for (const [slot, finish] of Object.entries(choices)) firstWith.set(`${slot} ${finish}`, at);
  }
  const excluded = read.excluded ? indexPairs(read.excluded) : null;

  const chosenOf = (variant: number): Chosen =>
    byPosition
      ? new Map(
          groups.flatMap(({ key }) => (variants[variant]?.choices[key] ? [[key, variants[variant].choices[key]]] : [])),
        )
      : new Map([['', String(variant)]]);
  const variantOf = (chosen: Chosen): number =>
    byPosition
      ? variants.findIndex(({ choices }) => groups.every(({ key }) => choices[key] === chosen.get(key)))
      : Number(chosen.get('') ?? -1);
  const find = (wanted: string): number => {
    const byName = variants.findIndex(({ name }) => name === wanted);
    return byName >= 0 ? byName : variants.findIndex(({ code }) => code?.toLowerCase() === wanted.toLowerCase());
  };

  return {
    productName: read.productName ?? null,
    groups: shown,
    variants,
    start: Math.max(0, read.default === undefined ? 0 : find(read.default)),
    find,
    chosenOf,
    variantOf,
    isMade: (chosen) =>
      groups.every(({ key, choices }) => choices.some((choice) => choice.key === chosen.get(key))) &&
      (variantOf(chosen) >= 0 || (byPosition && excluded !== null && !hasConflict(excluded, chosen))),
    choose(chosen, group, choice) {
      const next = new Map(chosen).set(group, choice);
      if (!byPosition || variantOf(next) >= 0) return next;
      const solved = excluded && solve(excluded, groups, next, group);
      return solved ?? chosenOf(findNearest(variants, next, group, choice));
    },
    assign(chosen) {
      const whole = variantOf(chosen);
      return parts.map(({ mesh, primitive, materials }) => {
        const slot = slots.get(`${mesh}/${primitive}`);
        const finish = slot === undefined ? undefined : chosen.get(slot);
        const variant = whole >= 0 || finish === undefined ? whole : (firstWith.get(`${slot} ${finish}`) ?? -1);
        return { mesh, primitive, material: materials.get(variant) ?? null };
      });
    },
  };
}

function listNames(json: unknown): string[] {
  const { variants } = asRecord(asRecord(asRecord(json).extensions).KHR_materials_variants);
  return asList(variants as readonly unknown[]).map((variant, at) => {
    const { name } = asRecord(variant);
    return typeof name === 'string' && name !== '' ? name : String(at + 1);
  });
}

function listParts(json: unknown): Part[] {
  return asList(asRecord(json).meshes as readonly unknown[]).flatMap((mesh, meshAt) =>
    asList(asRecord(mesh).primitives as readonly unknown[]).flatMap((primitive, at) => {
      const { mappings } = asRecord(asRecord(asRecord(primitive).extensions).KHR_materials_variants);
      const materials = new Map<number, number>();
      for (const mapping of asList(mappings as readonly unknown[])) {
        const { material, variants } = asRecord(mapping);
        if (typeof material !== 'number') continue;
        for (const variant of asList(variants as readonly unknown[])) materials.set(Number(variant), material);
      }
      return materials.size === 0 ? [] : [{ mesh: meshAt, primitive: at, materials }];
    }),
  );
}

/** The positions whose finish differs between variants. */
function listGroups({ groups, finishes }: Manifest, variants: readonly ViewerVariant[]): Group[] {
  const known = new Map(asList(finishes).map((each) => [each.finish, each]));
  return asList(groups).flatMap(({ slot, label }) => {
    const codes = new Set(variants.flatMap(({ choices }) => choices[slot] ?? []));
    if (codes.size < 2) return [];
    const choices = [...codes].map((code) => {
      const finish = known.get(code);
      return { key: code, name: finish?.name ?? code, hex: finish?.delivered?.hex ?? finish?.hex ?? null };
    });
    return [{ key: slot, label, choices }];
  });
}

function listVariants(names: readonly string[]): Group[] {
  if (names.length === 0) return [];
  return [{ key: '', label: '', choices: names.map((name, at) => ({ key: String(at), name, hex: null })) }];
}

/** Whether two of the choices are not made together. */
function hasConflict(excluded: ReadonlySet<string>, chosen: Chosen): boolean {
  return [...chosen].some(([group, finish]) => conflicts(excluded, chosen, group, finish));
}

/** Changes one group after the other until nothing conflicts; null where that does not lead to an end. */
function solve(
  excluded: ReadonlySet<string>,
  groups: readonly Group[],
  wanted: ReadonlyMap<string, string>,
  kept: string,
): Chosen | null {
  const chosen = new Map(wanted);
  const changed = new Set([kept]);
  for (;;) {
    // what was changed before stays, so that this ends
    const at = [...chosen.keys()].find(
      (group) => !changed.has(group) && conflicts(excluded, chosen, group, chosen.get(group)!),
    );
    if (at === undefined) return hasConflict(excluded, chosen) ? null : chosen;
    changed.add(at);
    const { choices } = groups.find(({ key }) => key === at)!;
    // the same finish first: the piping in the leather of the seat
    const candidates = [chosen.get(kept)!, ...choices.map(({ key }) => key)];
    const settled = new Map([...chosen].filter(([group]) => group !== at && changed.has(group)));
    const fits = candidates.find(
      (finish) => choices.some(({ key }) => key === finish) && !conflicts(excluded, settled, at, finish),
    );
    if (fits === undefined) return null;
    chosen.set(at, fits);
  }
}

function conflicts(excluded: ReadonlySet<string>, chosen: Chosen, group: string, finish: string): boolean {
  return [...chosen].some(([other, key]) => other !== group && excluded.has(pairKey(group, finish, other, key)));
}

/** The variant with the choice that keeps most of the others. */
function findNearest(variants: readonly ViewerVariant[], chosen: Chosen, group: string, choice: string): number {
  let [best, kept] = [0, -1];
  for (const [at, { choices }] of variants.entries()) {
    if (choices[group] !== choice) continue;
    const same = [...chosen].filter(([slot, finish]) => choices[slot] === finish).length;
    if (same > kept) [best, kept] = [at, same];
  }
  return best;
}

const pairKey = (slot: string, finish: string, other: string, otherFinish: string): string =>
  JSON.stringify(slot < other ? [slot, finish, other, otherFinish] : [other, otherFinish, slot, finish]);

function indexPairs(excluded: NonNullable<Manifest['excluded']>): Set<string> {
  return new Set(
    excluded.flatMap(({ slots: [a, b], pairs }) => pairs.map(([finish, other]) => pairKey(a, finish, b, other))),
  );
}

function asRecord(value: unknown): Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null ? (value as Readonly<Record<string, unknown>>) : {};
}

function asList<T>(value: readonly T[] | undefined): readonly T[] {
  return Array.isArray(value) ? value : [];
}
