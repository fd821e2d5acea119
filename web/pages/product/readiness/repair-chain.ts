import type { Axis, Repair, RepairName } from '../../../../server/core/repair/repair.ts';
import { renameReferences } from './rename-references.ts';

/** A repair in the chain that is proposed: whether it is to be made, and with what settings. */
export interface Step {
  /** What was proposed, as a key; edits of the settings leave it. */
  readonly key: string;
  readonly proposed: Repair;
  readonly repair: Repair;
  readonly on: boolean;
}

/** The order repairs are best made in, as the service proposes them: each still finds what it names. */
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

/** The same for repairs with the same settings, whatever the order of the fields. */
export function toKey(repair: Repair): string {
  return JSON.stringify(Object.entries(repair).sort(([a], [b]) => (a < b ? -1 : 1)));
}

/**
 * The chain for new proposals. What was ticked or edited stays so as long as it is still proposed, and what a person has
 * added stays as long as a finding still offers it. A turn, which no finding offers, stays until the model is another.
 */
export function takeProposals(
  before: readonly Step[],
  proposals: readonly Repair[],
  offered: readonly Repair[] = [],
): Step[] {
  const kept = new Map(before.map((step) => [step.key, step]));
  const steps = proposals.map((repair): Step => {
    const key = toKey(repair);
    return kept.get(key) ?? { key, proposed: repair, repair, on: true };
  });
  const still = new Set(offered.map(toKey));
  return before
    .filter(({ key, repair }) => (still.has(key) || isTurn(repair)) && !steps.some((step) => step.key === key))
    .reduce((chain, step) => insert(chain, step), steps);
}

/**
 * The step that would settle what this repair is offered for: the same one, or one that takes it in, such as a longer
 * list of materials, under the names they have by then.
 */
export function findStep(steps: readonly Step[], repair: Repair): Step | undefined {
  const key = toKey(repair);
  const renamed = renameReferences(repair, listNewNames(steps));
  return steps.find((step) => step.key === key) ?? steps.find((step) => covers(step.proposed, renamed));
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
      // a list that is left out means all, but for UVs: there it means what has none, which a name says more than
      if (given === undefined) return step.repair !== 'box-uvs';
      const list = new Set((given as readonly unknown[]).map((item) => JSON.stringify(item)));
      return (value as readonly unknown[]).every((item) => list.has(JSON.stringify(item)));
    }
    if (field === 'sizePx') return typeof given === 'number' && given <= (value as number);
    return JSON.stringify(given) === JSON.stringify(value);
  });
}

/** Ticks or unticks a repair; one that no step stands for yet is put where it is best made. */
export function tickRepair(steps: readonly Step[], repair: Repair, on: boolean): Step[] {
  const step = findStep(steps, repair);
  if (step) return steps.map((other) => (other === step ? { ...other, on } : other));
  if (!on) return [...steps];
  const renamed = renameReferences(repair, listNewNames(steps));
  return insert(steps, { key: toKey(repair), proposed: renamed, repair: renamed, on: true });
}

const isTurn = ({ repair }: Repair) => repair === 'turn';

/** The chain without turns: they were meant for the model as it was. */
export function dropTurns(steps: readonly Step[]): readonly Step[] {
  return steps.filter(({ repair }) => !isTurn(repair));
}

/** Adds a turn to the chain; one about the same axis as the last joins it, and what turns back takes it out. */
export function addTurn(steps: readonly Step[], axis: Axis, degrees: number): Step[] {
  const turns = steps.filter(({ repair }) => isTurn(repair));
  const last = turns.at(-1);
  const joins = last?.repair.repair === 'turn' && last.repair.axis === axis;
  // one that was unticked is not to be made
  const known = joins && last.on && last.repair.repair === 'turn' ? last.repair.degrees : 0;
  const rest = joins ? steps.filter((step) => step !== last) : steps;
  const angle = toHalfTurn(known + degrees);
  if (angle === 0) return [...rest];
  const repair: Repair = { repair: 'turn', axis, degrees: angle };
  // the same turn may come twice, with another between
  return insert(rest, { key: `${toKey(repair)} ${turns.length}`, proposed: repair, repair, on: true });
}

/** The same angle, above −180° and up to 180°. */
function toHalfTurn(degrees: number): number {
  const angle = degrees % 360;
  if (angle > 180) return angle - 360;
  return angle <= -180 ? angle + 360 : angle;
}

/** Before the first step that is better made later. */
function insert(steps: readonly Step[], step: Step): Step[] {
  const rank = ORDER.indexOf(step.repair.repair);
  const at = steps.findIndex((other) => ORDER.indexOf(other.repair.repair) > rank);
  return steps.toSpliced(at < 0 ? steps.length : at, 0, step);
}

/** Chooses one of repairs that exclude each other, or none of them; the others are unticked. */
export function chooseRepair(steps: readonly Step[], candidates: readonly Repair[], chosen: Repair | null): Step[] {
  const left = candidates.reduce<readonly Step[]>((chain, repair) => tickRepair(chain, repair, false), steps);
  return chosen ? tickRepair(left, chosen, true) : [...left];
}

/** Puts other settings into a step; steps that name a slot it gave another name follow. */
export function editStep(steps: readonly Step[], key: string, repair: Repair, renamed?: Renamed): Step[] {
  const names = renamed && new Map([[renamed.from, renamed.to]]);
  return steps.map((step) => {
    if (step.key === key) return { ...step, repair };
    return names ? { ...step, repair: renameReferences(step.repair, names) } : step;
  });
}

export interface Renamed {
  readonly from: string;
  readonly to: string;
}
