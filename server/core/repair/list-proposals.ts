import type { Finding } from '../product/finding.ts';
import type { MaterialReference, Repair, RepairName, RepairOf } from './repair.ts';

/**
 * Repairs that are proposed for notes too: they lose nothing and change nothing that is seen. The others are proposed
 * where a warning or an error asks for them, and are a person's choice where only a note does.
 */
const FOR_NOTES: readonly RepairName[] = ['rename-materials', 'strip-unused'];

/**
 * The repairs of all findings as one chain, in an order in which each still finds what it names:
 * the scene first; then names, by which all later repairs refer; size before all that measures; metalness before pieces
 * are separated, since materials made from a material inherit it; pieces turned outward while their ids hold; merging
 * after separating, by the slots there then are; placing once the geometry is as it stays; textures last but for what
 * nothing uses any more.
 * Where several factors would explain the size, or a finding asks, a person has to choose, so none is in the chain; nor
 * are box UVs, which are generated where they are asked for: a part unwrapped by hand is better.
 */
export function listProposals(findings: readonly Finding[]): Repair[] {
  const proposed = findings
    .filter(({ asks }) => !asks)
    .flatMap(({ severity, repairs = [] }) =>
      severity === 'note' ? repairs.filter(({ repair }) => FOR_NOTES.includes(repair)) : repairs,
    );
  const all = <N extends RepairName>(name: N) =>
    proposed.filter((repair): repair is RepairOf<N> & Repair => repair.repair === name);
  const first = <N extends RepairName>(name: N): Repair[] => all(name).slice(0, 1);

  const renames = joinRenames(all('rename-materials'));
  const newName = new Map(renames.flatMap(({ names }) => names.map(({ from, to }) => [from, to])));
  const rename = (reference: MaterialReference) => newName.get(reference) ?? reference;
  // of several ways to separate a material the first is the surest
  const separations = all('separate-pieces')
    .filter(({ material }, index, ways) => ways.findIndex((way) => way.material === material) === index)
    .map((repair) => ({ ...repair, material: rename(repair.material) }));
  const merge = first('merge-parts');
  return [
    ...first('fix-scene'),
    ...first('unshare-mesh'),
    ...renames,
    ...(all('scale').length === 1 ? all('scale') : []),
    ...joinMaterials(all('set-nonmetal'), rename),
    ...first('turn-outward'),
    ...separations,
    ...joinMaterials(all('neutral-detail'), rename).map((repair) => addSeparated(repair, separations)),
    ...merge,
    // merging bakes what it merges
    ...(merge.length > 0 ? [] : first('bake-transforms')),
    ...first('place'),
    ...joinTextures(all('fit-textures')),
    // what the repairs themselves free is left out of the file anyway
    ...first('strip-unused'),
  ];
}

/** Repairs of several places as few as settle all of them: one for each kind where its settings can be joined. */
export function joinRepairs(repairs: readonly Repair[]): Repair[] {
  const asTheyAre = (reference: MaterialReference) => reference;
  const of = <N extends RepairName>(name: N) =>
    repairs.filter((repair): repair is RepairOf<N> & Repair => repair.repair === name);
  const joined = [
    ...joinRenames(of('rename-materials')),
    ...joinMaterials(of('set-nonmetal'), asTheyAre),
    ...joinMaterials(of('neutral-detail'), asTheyAre),
    ...joinTextures(of('fit-textures')),
  ];
  const names = new Set<RepairName>(joined.map(({ repair }) => repair));
  const boxes = joinBoxes(of('box-uvs'));
  const others = repairs.filter(({ repair }) => !names.has(repair) && repair !== 'box-uvs');
  return [...joined, ...boxes, ...new Map(others.map((repair) => [JSON.stringify(repair), repair])).values()];
}

/** Box UVs of named materials together; one without names, which means what has none, stands for itself. */
function joinBoxes(repairs: readonly RepairOf<'box-uvs'>[]): RepairOf<'box-uvs'>[] {
  const materials = [...new Set(repairs.flatMap(({ materials = [] }) => materials))];
  const unnamed = repairs.find((repair) => repair.materials === undefined);
  return [...(unnamed ? [unnamed] : []), ...(materials.length > 0 ? [{ repair: 'box-uvs' as const, materials }] : [])];
}

function joinRenames(repairs: readonly RepairOf<'rename-materials'>[]): RepairOf<'rename-materials'>[] {
  const names = new Map(repairs.flatMap((repair) => repair.names.map((name) => [name.from, name])));
  return names.size > 0 ? [{ repair: 'rename-materials', names: [...names.values()] }] : [];
}

type OnMaterials = RepairOf<'set-nonmetal'> | RepairOf<'neutral-detail'>;

/** One repair of all materials named; none named means all that need it, which holds the others. */
function joinMaterials<R extends OnMaterials>(
  repairs: readonly R[],
  rename: (reference: MaterialReference) => MaterialReference,
): R[] {
  const [first] = repairs;
  if (!first) return [];
  const { materials: _, ...all } = first;
  if (repairs.some(({ materials }) => materials === undefined)) return [all as R];
  const materials = [...new Set(repairs.flatMap((repair) => repair.materials ?? []).map(rename))];
  return [{ ...all, materials } as unknown as R];
}

/** The materials that pieces were given wear the same map as the one they had. */
function addSeparated(
  repair: RepairOf<'neutral-detail'>,
  separations: readonly RepairOf<'separate-pieces'>[],
): RepairOf<'neutral-detail'> {
  if (!repair.materials) return repair;
  const made = separations
    .filter(({ material }) => repair.materials!.includes(material))
    .flatMap(({ groups }) => groups.map(({ name }) => name));
  return { ...repair, materials: [...new Set([...repair.materials, ...made])] };
}

/** The smallest size asked for holds all of them. */
function joinTextures(repairs: readonly RepairOf<'fit-textures'>[]): RepairOf<'fit-textures'>[] {
  const [first] = repairs;
  if (!first) return [];
  const sizes = repairs.flatMap(({ sizePx }) => (sizePx === undefined ? [] : [sizePx]));
  return [{ ...first, ...(sizes.length > 0 ? { sizePx: Math.min(...sizes) } : {}) }];
}
