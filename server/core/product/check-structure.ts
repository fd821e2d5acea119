import { Problem } from '../problems.ts';
import { count, formatNumber, listNames } from '../texts/format-text.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { GeometryFault, NodeGroup, Survey } from './survey.ts';

/**
 * Loose parts are remarked on from more than four draws for every material, and more than twenty in all (common
 * practice: one mesh with a material for every changeable part). A good model has about one draw for each.
 */
const LOOSE_PARTS = { perMaterial: 4, atLeast: 20 } as const;

/** How the scene is put together: what it draws, its transforms, loose parts, and geometry that cannot be drawn. */
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
  return [
    makeFinding('nothing-to-draw', {
      where: '/scene',
      place: 'the whole model',
      message:
        survey.unreadable ??
        'The scene draws no triangles, so there is nothing that could take a finish. Export the model with its meshes in the scene.',
      seen: 0,
      expected: 'one triangle or more',
    }),
  ];
}

function checkScenes({ scenesWithChildren }: Survey): Finding[] {
  if (scenesWithChildren.length === 0) return [];
  return [
    makeFinding('scene-lists-child', {
      where: `/scenes/${scenesWithChildren[0]}/nodes`,
      place: count(scenesWithChildren.length, 'scene'),
      message:
        'A scene lists a node that has a parent, which glTF does not allow; some viewers draw such a node twice. The scene can be mended without touching its geometry.',
      seen: scenesWithChildren,
      expected: 'nodes without a parent',
      repairs: [{ repair: 'fix-scene' }],
    }),
  ];
}

function checkTransforms({ transforms, counts }: Survey): Finding[] {
  const { unbaked, negative, uneven } = transforms;
  const worst = [unbaked, negative, uneven].reduce((most, group) => (group.count > most.count ? group : most));
  if (worst.count === 0) return [];
  const kinds = [
    ...(negative.count > 0 ? [`${formatNumber(negative.count)} mirrored by a negative scale`] : []),
    ...(uneven.count > 0 ? [`${formatNumber(uneven.count)} scaled unevenly`] : []),
  ];
  const moving = counts.animations > 0 ? ' The model is animated: baking says first what of that it would lose.' : '';
  return [
    makeFinding('unbaked-transform', {
      where: `/nodes/${worst.first[0]?.node ?? 0}`,
      place: placeOfNodes(worst),
      message: `${count(worst.count, 'part')} ${worst.count === 1 ? 'is' : 'are'} turned or scaled by a node${kinds.length > 0 ? `, ${kinds.join(', ')}` : ''}. Viewers show that as it is meant. Bake the transforms into the geometry where a receiver asks for it, as the Khronos asset creation guidelines do.${moving}`,
      seen: { unbaked: unbaked.count, negative: negative.count, uneven: uneven.count },
      expected: 'rotation 0 and scale 1 on every part',
      repairs: [{ repair: 'bake-transforms' }],
    }),
  ];
}

function checkLooseParts({ survey, drawn }: ModelFacts): Finding[] {
  const { draws } = survey.counts;
  const materials = countDrawnMaterials(survey, drawn.length);
  if (draws <= LOOSE_PARTS.atLeast || draws <= LOOSE_PARTS.perMaterial * materials) return [];
  return [
    makeFinding('many-pieces', {
      where: '/meshes',
      place: 'the whole model',
      message: `The model is ${formatNumber(draws)} loose parts of ${count(materials, 'material')}, each drawn by itself. Merged by material it takes about ${count(materials, 'draw')} and looks the same.`,
      seen: draws,
      expected: `at most ${Math.max(LOOSE_PARTS.atLeast, LOOSE_PARTS.perMaterial * materials)} draws`,
      repairs: [{ repair: 'merge-parts' }],
    }),
  ];
}

/** Materials the scene draws, glTF's default one counted where a primitive names none. */
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
    makeFinding('shared-mesh', {
      where: `/meshes/${sharedMeshes[0]!.mesh}`,
      place: listNames(names),
      message: `${count(sharedMeshes.length, 'mesh', 'meshes')} ${sharedMeshes.length === 1 ? 'is' : 'are'} drawn by several nodes; those parts change finish together. Give them meshes of their own where they are to change apart.`,
      seen: sharedMeshes.length,
      expected: 'one node for each mesh',
      repairs: [{ repair: 'unshare-mesh' }],
    }),
  ];
}

function checkHidden({ hidden }: Survey): Finding[] {
  if (hidden.count === 0) return [];
  return [
    makeFinding('hidden-content', {
      where: `/nodes/${hidden.first[0]?.node ?? 0}`,
      place: placeOfNodes(hidden),
      message: `${count(hidden.count, 'part')} ${hidden.count === 1 ? 'is' : 'are'} in the scene but cannot be seen (scaled to nothing, or made invisible), and ${hidden.count === 1 ? 'weighs' : 'weigh'} the file down. Only what is visible need be exported.`,
      seen: hidden.count,
      expected: 0,
    }),
  ];
}

/** What each fault means, and whether it hinders: what merely draws nothing is a note. */
const FAULTS: Readonly<
  Record<Exclude<GeometryFault['fault'], 'undecodable'>, { one: string; many?: string; says: string; note?: true }>
> = {
  'positions-not-finite': {
    one: 'position',
    says: 'is no number, so size and place of the part cannot be told. Export the part again.',
  },
  'index-out-of-range': {
    one: 'index',
    many: 'indices',
    says: 'points past the end of the vertices, and many viewers refuse the file. Export the part again.',
  },
  'not-readable': {
    one: 'primitive',
    says: 'cannot be read, so it was not measured. Export it again, with another compression or none.',
  },
  'zero-area': {
    one: 'triangle',
    says: 'of no area; nothing of it is seen, and it does no harm to a finish.',
    note: true,
  },
  'empty-primitive': { one: 'primitive', says: 'without triangles; it draws nothing and takes no finish.', note: true },
  'points-or-lines': {
    one: 'primitive',
    says: 'of points or lines; it takes no finish and stays as it is.',
    note: true,
  },
};

function toFaultFinding({ fault, count: seen, where }: GeometryFault): Finding {
  if (fault === 'undecodable') {
    return makeFinding('geometry-undecodable', {
      where,
      place: `${count(seen, 'place')}, first at ${where}`,
      message: sayUndecodable(where),
      seen,
      expected: 0,
    });
  }
  const { one, many, says, note } = FAULTS[fault];
  return makeFinding(
    'broken-geometry',
    {
      where,
      place: `${fault.replaceAll('-', ' ')}, first at ${where}`,
      message: `${count(seen, one, many)} ${says}`,
      seen: { fault, count: seen },
      expected: 0,
    },
    note ? 'note' : 'warning',
  );
}

/** Compressed geometry that is damaged: a viewer that meets it shows nothing of the file. */
export function sayUndecodable(where: string): string {
  return `The compressed geometry at ${where} is damaged and cannot be decoded; viewers refuse the whole file. Export the model again, with another compression or none.`;
}

function checkNormals({ primitives }: Survey): Finding[] {
  const without = primitives.filter(({ uses, triangles, hasNormals }) => uses > 0 && triangles > 0 && !hasNormals);
  if (without.length === 0) return [];
  const first = without[0]!;
  return [
    makeFinding('missing-normals', {
      where: `/meshes/${first.mesh}/primitives/${first.primitive}/attributes`,
      place: count(without.length, 'primitive'),
      message: `${count(without.length, 'primitive')} ${without.length === 1 ? 'has' : 'have'} no normals, so every viewer shades ${without.length === 1 ? 'it' : 'them'} in flat facets. Right for a faceted part; for a round one, export it with normals.`,
      seen: without.length,
      expected: 0,
    }),
  ];
}

function placeOfNodes({ count: all, first }: NodeGroup): string {
  if (first.length === 0) return count(all, 'part');
  const names = first.map(({ name, node }) => name || `node ${node}`);
  return listNames(names, 3, all);
}

/**
 * Refuses a model no viewer can show: one whose compressed geometry is damaged.
 * @throws Problem `geometry-undecodable`
 */
export function refuseUndecodable({ faults }: Pick<Survey, 'faults'>): void {
  const damaged = faults.find(({ fault }) => fault === 'undecodable');
  if (!damaged) return;
  throw new Problem('geometry-undecodable', {
    detail: sayUndecodable(damaged.where),
    received: damaged.count,
    where: damaged.where,
  });
}
