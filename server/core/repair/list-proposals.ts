import type { Finding } from '../product/finding.ts';
import type { MaterialReference, Repair, RepairName, RepairOf } from './repair.ts';

/**
 * Repairs that notes propose too: they lose nothing and change nothing visible. The other repairs are proposed for a
 * warning or an error; for a note alone they are a person's choice.
 */
const FOR_NOTES: readonly RepairName[] = ['rename-materials', 'strip-unused'];

/**
 * Joins the repairs of all findings into one chain, in an order in which each repair still finds its objects:
 * the scene first; then names, since all later repairs refer to them; size before everything that measures; metalness
 * before pieces are separated, since new materials inherit it; pieces turned outward while their ids are valid; merging
 * after separating, by the resulting slots; placing once the geometry is final; textures last, except for the removal
 * of unused objects.
 * Where several factors could explain the size, or a finding asks a question, a person has to choose, so the chain has
 * none. It also has no box UVs, which are generated where they are needed: a part unwrapped by hand is better.
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
  // of several ways to separate a material the first is the most reliable
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
    // merging also bakes the transforms
    ...(merge.length > 0 ? [] : first('bake-transforms')),
    ...first('place'),
    ...joinTextures(all('fit-textures')),
    // the file leaves out anyway what the repairs themselves free
    ...first('strip-unused'),
  ];
}

/**
 * Joins repairs of several places into the fewest that settle all of them: one for each kind where its settings can be
 * joined.
 */
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

/** Joins box UVs of named materials. One without names means all materials without UVs, and stays separate. */
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

/** One repair of all named materials. No names mean all that need it, which includes the others. */
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

/** The materials that separated pieces got use the same map as their original material. */
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

/** The smallest requested size satisfies all of them. */
function joinTextures(repairs: readonly RepairOf<'fit-textures'>[]): RepairOf<'fit-textures'>[] {
  const [first] = repairs;
  if (!first) return [];
  const sizes = repairs.flatMap(({ sizePx }) => (sizePx === undefined ? [] : [sizePx]));
  return [{ ...first, ...(sizes.length > 0 ? { sizePx: Math.min(...sizes) } : {}) }];
}
