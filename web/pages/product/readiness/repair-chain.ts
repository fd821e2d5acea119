import type { Axis, MaterialReference, Repair, RepairName } from '../../../../server/core/repair/repair.ts';

/** A repair in the chain of proposals: whether it is ticked, and its settings. */
export interface Step {
  /** Identifies the proposal; editing the settings does not change it. */
  readonly key: string;
  readonly proposed: Repair;
  readonly repair: Repair;
  readonly on: boolean;
}

/** The order in which repairs run, as in the service: no repair renames or removes something that a later one names. */
const ORDER: readonly RepairName[] = [
  'fix-scene',
  'unshare-mesh',
  'rename-materials',
  'scale',
  'set-nonmetal',
  'turn-outward',
  'separate-pieces',
  'neutral-detail',
  'box-uvs',
  'turn',
  'merge-parts',
  'bake-transforms',
  'place',
  'fit-textures',
  'strip-unused',
];

/** A key that is equal for repairs with equal settings, in any order of fields. */
export function toKey(repair: Repair): string {
  return JSON.stringify(Object.entries(repair).sort(([a], [b]) => (a < b ? -1 : 1)));
}

/**
 * The chain for new proposals. Ticks and edits stay while the repair is still proposed. Repairs that a person added stay
 * while a finding still offers them. Turns, which no finding offers, stay until the model changes.
 */
export function mergeProposals(
  before: readonly Step[],
  proposals: readonly Repair[],
  offered: readonly Repair[] = [],
): Step[] {
  const kept = new Map(before.map((step) => [step.key, step]));
  const steps = proposals.map((repair): Step => {
    const key = toKey(repair);
    return kept.get(key) ?? { key, proposed: repair, repair, on: true };
  });
  const stillOffered = new Set(offered.map(toKey));
  return before
    .filter(({ key, repair }) => (stillOffered.has(key) || isTurn(repair)) && !steps.some((step) => step.key === key))
    .reduce((chain, step) => insert(chain, step), steps);
}

/**
 * The step that includes a repair: the same repair, or one that covers it, such as a longer list of materials. Materials
 * are compared by the names they have after earlier steps.
 */
export function findStep(steps: readonly Step[], repair: Repair): Step | undefined {
  const key = toKey(repair);
  const renamed = renameReferences(repair, listNewNames(steps));
  return steps.find((step) => step.key === key) ?? steps.find((step) => covers(step.proposed, renamed));
}

/** The repairs that stand under a finding. */
export interface Remedies {
  /** Steps of the chain that stand under this finding, each under the first one that it resolves. */
  readonly steps: readonly Step[];
  /** Repairs that are offered but not in the chain. */
  readonly offers: readonly Repair[];
  /** Whether a step under an earlier finding resolves this one too. */
  readonly settled: boolean;
}

/**
 * Puts each step of the chain under the first finding that it resolves.
 * @returns the remedies of each finding, and the steps that belong to none, such as turns
 */
export function assignSteps<F extends { readonly repairs?: readonly Repair[] | undefined }>(
  findings: readonly F[],
  steps: readonly Step[],
): { readonly remedies: ReadonlyMap<F, Remedies>; readonly further: readonly Step[] } {
  const shown = new Set<Step>();
  const remedies = new Map<F, Remedies>();
  for (const finding of findings) {
    const own = new Set<Step>();
    const offers: Repair[] = [];
    let settled = false;
    for (const repair of finding.repairs ?? []) {
      const step = findStep(steps, repair);
      if (!step) offers.push(repair);
      else if (shown.has(step)) settled = true;
      else own.add(step);
    }
    for (const step of own) shown.add(step);
    remedies.set(finding, { steps: [...own], offers, settled });
  }
  return { remedies, further: steps.filter((step) => !shown.has(step)) };
}

function listNewNames(steps: readonly Step[]): Map<string, string> {
  return new Map(
    steps.flatMap(({ proposed }) =>
      proposed.repair === 'rename-materials' ? proposed.names.map(({ from, to }) => [from, to] as const) : [],
    ),
  );
}

function covers(step: Repair, wanted: Repair): boolean {
  if (step.repair !== wanted.repair) return false;
  const has = step as unknown as Readonly<Record<string, unknown>>;
  return Object.entries(wanted).every(([field, value]) => {
    const given = has[field];
    if (field === 'materials' || field === 'meshes' || field === 'names') {
      // without a list, a repair covers everything; box UVs then cover only what has none
      if (given === undefined) return step.repair !== 'box-uvs';
      const list = new Set((given as readonly unknown[]).map((item) => JSON.stringify(item)));
      return (value as readonly unknown[]).every((item) => list.has(JSON.stringify(item)));
    }
    if (field === 'sizePx') return typeof given === 'number' && given <= (value as number);
    return JSON.stringify(given) === JSON.stringify(value);
  });
}

/** Ticks or unticks a repair. A new one is inserted at its place in the order. */
export function tickRepair(steps: readonly Step[], repair: Repair, on: boolean): Step[] {
  const step = findStep(steps, repair);
  if (step) return steps.map((other) => (other === step ? { ...other, on } : other));
  if (!on) return [...steps];
  const renamed = renameReferences(repair, listNewNames(steps));
  return insert(steps, { key: toKey(repair), proposed: renamed, repair: renamed, on: true });
}

const isTurn = ({ repair }: Repair) => repair === 'turn';

/** Removes turns: they were meant for the previous model. */
export function dropTurns(steps: readonly Step[]): readonly Step[] {
  return steps.filter(({ repair }) => !isTurn(repair));
}

/** Adds a turn. It is added to the last one if the axis is the same, and both disappear if they cancel out. */
export function addTurn(steps: readonly Step[], axis: Axis, degrees: number): Step[] {
  const turns = steps.filter(({ repair }) => isTurn(repair));
  const last = turns.at(-1);
  const isSameAxis = last?.repair.repair === 'turn' && last.repair.axis === axis;
  // an unticked turn does not count
  const angleBefore = isSameAxis && last.on && last.repair.repair === 'turn' ? last.repair.degrees : 0;
  const rest = isSameAxis ? steps.filter((step) => step !== last) : steps;
  const angle = toHalfTurn(angleBefore + degrees);
  if (angle === 0) return [...rest];
  const repair: Repair = { repair: 'turn', axis, degrees: angle };
  // the number keeps keys unique where the same turn occurs twice
  return insert(rest, { key: `${toKey(repair)} ${turns.length}`, proposed: repair, repair, on: true });
}

/** An angle as −180° < angle ≤ 180°. */
function toHalfTurn(degrees: number): number {
  const angle = degrees % 360;
  if (angle > 180) return angle - 360;
  return angle <= -180 ? angle + 360 : angle;
}

/** Inserts a step before the first one that comes later in the order. */
function insert(steps: readonly Step[], step: Step): Step[] {
  const rank = ORDER.indexOf(step.repair.repair);
  const at = steps.findIndex((other) => ORDER.indexOf(other.repair.repair) > rank);
  return steps.toSpliced(at < 0 ? steps.length : at, 0, step);
}

/** Ticks one of several repairs that exclude each other, or none. */
export function chooseRepair(steps: readonly Step[], candidates: readonly Repair[], chosen: Repair | null): Step[] {
  const left = candidates.reduce<readonly Step[]>((chain, repair) => tickRepair(chain, repair, false), steps);
  return chosen ? tickRepair(left, chosen, true) : [...left];
}

/** Changes the settings of a step. Later steps follow if it renames a slot. */
export function editStep(steps: readonly Step[], key: string, repair: Repair, renamed?: Renamed): Step[] {
  const names = renamed && new Map([[renamed.from, renamed.to]]);
  return steps.map((step) => {
    if (step.key === key) return { ...step, repair };
    return names ? { ...step, repair: renameReferences(step.repair, names) } : step;
  });
}

interface Renamed {
  readonly from: string;
  readonly to: string;
}

/**
 * The ticked repairs, in order. If a step that renames materials is unticked, later steps use the old names. A step
 * whose list of materials becomes empty is left out.
 */
export function listChosen(steps: readonly Step[]): Repair[] {
  const names = new Map<string, string | null>();
  const made = new Set<string>();
  for (const { on, repair } of steps) {
    if (repair.repair === 'rename-materials' && !on) for (const { from, to } of repair.names) names.set(to, from);
    if (repair.repair !== 'separate-pieces') continue;
    for (const { name } of repair.groups) {
      if (on) made.add(name);
      else names.set(name, null);
    }
  }
  for (const name of made) names.delete(name);
  return steps
    .filter(({ on }) => on)
    .map(({ repair }) => renameReferences(repair, names))
    .filter((repair) => !('materials' in repair) || repair.materials === undefined || repair.materials.length > 0);
}

/** Renames the materials that a repair refers to. Null removes a name from its list. */
function renameReferences(repair: Repair, names: ReadonlyMap<string, string | null>): Repair {
  switch (repair.repair) {
    case 'set-nonmetal':
    case 'neutral-detail':
    case 'box-uvs':
    case 'turn-outward':
      return repair.materials ? { ...repair, materials: renameAll(repair.materials, names) } : repair;
    case 'separate-pieces':
      return { ...repair, material: names.get(repair.material) ?? repair.material };
    default:
      return repair;
  }
}

function renameAll(
  references: readonly MaterialReference[],
  names: ReadonlyMap<string, string | null>,
): MaterialReference[] {
  const renamed = references.flatMap((reference) => {
    const name = names.get(reference);
    if (name === null) return [];
    return [name ?? reference];
  });
  return [...new Set(renamed)];
}
