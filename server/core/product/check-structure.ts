import { Problem } from '../problems.ts';
import { describeFinding } from '../texts/finding-texts.ts';
import { listNames, PLACES } from '../texts/format-text.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { GeometryFault, NodeGroup, Survey } from './survey.ts';

/**
 * Loose parts are reported above four draws per material and above twenty in all (common practice: one mesh with a
 * material for every changeable part). A good model has about one draw per material.
 */
const LOOSE_PARTS = { perMaterial: 4, atLeast: 20 } as const;

/** Checks the structure of the scene: its draws, transforms and loose parts, and geometry that cannot be drawn. */
export function checkStructure(facts: ModelFacts): Finding[] {
  const { survey } = facts;
  return [
    ...checkDrawn(survey),
    ...checkScenes(survey),
    ...checkTransforms(survey),
    ...checkLooseParts(facts),
    ...checkSharedMeshes(survey),
    ...checkHidden(survey),
    ...survey.faults.map(toFaultFinding),
    ...checkNormals(survey),
  ];
}

function checkDrawn(survey: Survey): Finding[] {
  if (survey.counts.triangles > 0) return [];
  const facts = { where: '/scene', place: PLACES.model, seen: 0, expected: 'one triangle or more' };
  return [
    survey.unreadable === undefined
      ? makeFinding('nothing-to-draw', {}, facts)
      : makeFinding('nothing-to-draw:unreadable', { reason: survey.unreadable }, facts),
  ];
}

function checkScenes({ scenesWithChildren }: Survey): Finding[] {
  if (scenesWithChildren.length === 0) return [];
  return [
    makeFinding(
      'scene-lists-child',
      {},
      {
        where: `/scenes/${scenesWithChildren[0]}/nodes`,
        place: PLACES.scenes(scenesWithChildren.length),
        seen: scenesWithChildren,
        expected: 'nodes without a parent',
        repairs: [{ repair: 'fix-scene' }],
      },
    ),
  ];
}

function checkTransforms({ transforms, counts }: Survey): Finding[] {
  const { unbaked, negative, uneven } = transforms;
  const worst = [unbaked, negative, uneven].reduce((most, group) => (group.count > most.count ? group : most));
  if (worst.count === 0) return [];
  return [
    makeFinding(
      'unbaked-transform',
      { parts: worst.count, negative: negative.count, uneven: uneven.count, isAnimated: counts.animations > 0 },
      {
        where: `/nodes/${worst.first[0]?.node ?? 0}`,
        place: placeOfNodes(worst),
        seen: { unbaked: unbaked.count, negative: negative.count, uneven: uneven.count },
        expected: 'rotation 0 and scale 1 on every part',
        repairs: [{ repair: 'bake-transforms' }],
      },
    ),
  ];
}

function checkLooseParts({ survey, drawn }: ModelFacts): Finding[] {
  const { draws } = survey.counts;
  const materials = countDrawnMaterials(survey, drawn.length);
  if (draws <= LOOSE_PARTS.atLeast || draws <= LOOSE_PARTS.perMaterial * materials) return [];
  return [
    makeFinding(
      'many-pieces',
      { draws, materials },
      {
        where: '/meshes',
        place: PLACES.model,
        seen: draws,
        expected: `at most ${Math.max(LOOSE_PARTS.atLeast, LOOSE_PARTS.perMaterial * materials)} draws`,
        repairs: [{ repair: 'merge-parts' }],
      },
    ),
  ];
}

/** Counts the materials the scene draws. Primitives without a material count as glTF's default one. */
export function countDrawnMaterials(survey: Survey, named: number): number {
  const bare = survey.primitives.some(
    ({ material, uses, triangles }) => material === null && uses > 0 && triangles > 0,
  );
  return named + (bare ? 1 : 0);
}

function checkSharedMeshes({ sharedMeshes }: Survey): Finding[] {
  if (sharedMeshes.length === 0) return [];
  const names = sharedMeshes.map(({ name, mesh }) => name || `mesh ${mesh}`);
  return [
    makeFinding(
      'shared-mesh',
      { meshes: sharedMeshes.length },
      {
        where: `/meshes/${sharedMeshes[0]!.mesh}`,
        place: listNames(names),
        seen: sharedMeshes.length,
        expected: 'one node for each mesh',
        repairs: [{ repair: 'unshare-mesh' }],
      },
    ),
  ];
}

function checkHidden({ hidden }: Survey): Finding[] {
  if (hidden.count === 0) return [];
  return [
    makeFinding(
      'hidden-content',
      { parts: hidden.count },
      {
        where: `/nodes/${hidden.first[0]?.node ?? 0}`,
        place: placeOfNodes(hidden),
        seen: hidden.count,
        expected: 0,
      },
    ),
  ];
}

/** Harmless faults: nothing is drawn there. */
const HARMLESS: ReadonlySet<GeometryFault['fault']> = new Set(['zero-area', 'empty-primitive', 'points-or-lines']);

function toFaultFinding({ fault, count, where }: GeometryFault): Finding {
  if (fault === 'undecodable') {
    return makeFinding('geometry-undecodable', {}, { where, place: PLACES.places(count), seen: count, expected: 0 });
  }
  return makeFinding(
    'broken-geometry',
    { fault, count },
    { where, place: PLACES.fault(fault), seen: { fault, count }, expected: 0 },
    HARMLESS.has(fault) ? 'note' : 'warning',
  );
}

function checkNormals({ primitives }: Survey): Finding[] {
  const without = primitives.filter(({ uses, triangles, hasNormals }) => uses > 0 && triangles > 0 && !hasNormals);
  if (without.length === 0) return [];
  const first = without[0]!;
  return [
    makeFinding(
      'missing-normals',
      { primitives: without.length },
      {
        where: `/meshes/${first.mesh}/primitives/${first.primitive}/attributes`,
        place: PLACES.primitives(without.length),
        seen: without.length,
        expected: 0,
      },
    ),
  ];
}

function placeOfNodes({ count: all, first }: NodeGroup): string {
  if (first.length === 0) return PLACES.parts(all);
  const names = first.map(({ name, node }) => name || `node ${node}`);
  return listNames(names, 3, all);
}

/**
 * Refuses a model that no viewer can show, because its compressed geometry is damaged.
 * @throws Problem `geometry-undecodable`
 */
export function requireDecodable({ faults }: Pick<Survey, 'faults'>): void {
  const damaged = faults.find(({ fault }) => fault === 'undecodable');
  if (!damaged) return;
  throw new Problem('geometry-undecodable', {
    detail: describeFinding('geometry-undecodable', {}),
    received: damaged.count,
    where: damaged.where,
  });
}
