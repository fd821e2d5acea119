// Long because it is one catalogue: it has every message of a repair, so that people can read, check and translate it.
import type { RepairName } from '../repair/repair.ts';
import { count, describeUnit, formatBytes, formatMm, formatNumber, listNames, pick } from './format-text.ts';

/** Why a repair leaves a part as it is. */
export type KeptOut =
  | 'skinned'
  | 'animated'
  | 'morphing'
  | 'instanced'
  | 'hidden'
  | 'in-another-scene'
  | 'points-or-lines'
  | 'unreadable';

const KEPT_OUT: Readonly<Record<KeptOut, string>> = {
  skinned: 'skinned',
  animated: 'animated',
  morphing: 'with morph targets',
  instanced: 'instanced',
  hidden: 'hidden',
  'in-another-scene': 'also in another scene',
  'points-or-lines': 'of points or lines',
  unreadable: 'unreadable',
};

/** Why a part cannot get box UVs. */
export type NotBoxable = Extract<KeptOut, 'skinned' | 'morphing' | 'instanced' | 'unreadable'>;

const NOT_BOXABLE: Readonly<Record<NotBoxable, readonly [one: string, several: string]>> = {
  skinned: ['is skinned', 'are skinned'],
  morphing: ['has morph targets', 'have morph targets'],
  instanced: ['is instanced', 'are instanced'],
  unreadable: ['cannot be read', 'cannot be read'],
};

/** Objects of a document, by their array: one, and several. */
const OBJECTS: Readonly<Record<string, readonly [one: string, several: string]>> = {
  nodes: ['node', 'nodes'],
  meshes: ['mesh', 'meshes'],
  materials: ['material', 'materials'],
  textures: ['texture', 'textures'],
  images: ['image', 'images'],
  samplers: ['sampler', 'samplers'],
  accessors: ['accessor', 'accessors'],
  bufferViews: ['buffer view', 'buffer views'],
  skins: ['skin', 'skins'],
  cameras: ['camera', 'cameras'],
  channels: ['animation channel', 'animation channels'],
  lights: ['light', 'lights'],
};

/** How many labels a message lists before it only counts the rest. */
const LISTED = 12;

/** “A”, “B” and “C”: labels as they are given. */
function join(labels: readonly string[]): string {
  const rest = labels.length - LISTED;
  if (rest > 0) return `${labels.slice(0, LISTED).join(', ')} and ${formatNumber(rest)} more`;
  return labels.length > 1 ? `${labels.slice(0, -1).join(', ')} and ${labels.at(-1)}` : (labels[0] ?? 'none');
}

/** A mesh by its name, or by its index. */
export function labelMesh(name: string, index: number): string {
  return name ? `“${name}”` : `unnamed mesh ${index}`;
}

/** The parts of a list that are present. */
const present = (...parts: readonly (string | false)[]) => parts.filter((part) => part !== false);

/** Sentences that may follow the message of any repair. Each begins with a space, or is empty. */
export const REPAIR_NOTES = {
  /** @param missing names that the model does not have; @param all labels of its materials */
  missing: (missing: readonly string[], all: readonly string[]) =>
    missing.length === 0
      ? ''
      : ` The model has no material ${join(missing.map((name) => `“${name}”`))}; it has ${join(all)}.`,
  /** Parts that a repair leaves as they are, by reason. */
  unchanged: (parts: ReadonlyMap<KeptOut, number>) =>
    parts.size === 0
      ? ''
      : ` Unchanged parts: ${[...parts].map(([reason, n]) => `${formatNumber(n)} ${KEPT_OUT[reason]}`).join(', ')}.`,
  guessed: (references: readonly string[], material: string | null) =>
    ` The model has only one material${material === null ? '' : `, now “${material}”`}, so Dyeworks used it for ${listNames(references)}.`,
  unpacked: (bytesPacked: number, bytesUnpacked: number) =>
    ` The repair unpacked compressed geometry: ${formatBytes(bytesPacked)} became ${formatBytes(bytesUnpacked)}.`,
  unusedLeft: (objects: number, extensions: readonly string[]) =>
    ` ${count(objects, 'unused object')} ${pick(objects, 'stays', 'stay')} in the file, because ${listNames(extensions)} may refer to ${pick(objects, 'it', 'them')}.`,
  copies: (meshes: number) =>
    meshes === 0 ? '' : ` Dyeworks made ${count(meshes, 'copy', 'copies')} of shared meshes.`,
  /** Animated nodes that hang from a new node, which has the transform. */
  wrapped: (nodes: number) =>
    nodes === 0
      ? ''
      : ` ${count(nodes, 'animated node')} ${pick(nodes, 'has a new parent node', 'have new parent nodes')} for the change.`,
} as const;

/** The losses of a repair, in words that follow “The repair would lose”. */
export const REPAIR_LOSSES = {
  extension: (extension: string, n: number) => `${extension} on ${count(n, 'node or mesh', 'nodes or meshes')}`,
  partExtension: (extension: string, n: number) => `${extension} on ${count(n, ...PART_OBJECTS)}`,
  extras: (n: number) => `extras of ${count(n, ...PART_OBJECTS)}`,
  attribute: (name: string, primitives: number) => `attribute ${name} of ${count(primitives, 'primitive')}`,
  thickness: (material: string) => `the correct thickness of ${material}, which is used at several scales`,
  mapPlacement: (maps: number, material: string) => `the placement of ${count(maps, 'map')} of ${material}`,
  pieceAnimation: (material: string) => `the animation of ${material} on the separated pieces`,
  cornerOrder: (extension: string) => `data of ${extension} that depends on the order of corners`,
} as const;

const PART_OBJECTS = ['node, mesh or primitive', 'nodes, meshes or primitives'] as const;

/**
 * Messages of repairs, by repair: what it did, why there was nothing to do, why it does not fit. Labels are in
 * quotation marks.
 */
export const REPAIR_OUTCOMES = {
  scale: {
    noPositions: 'The model has no positions to scale. Export it again with its geometry.',
    noHeight:
      'The scene shows no part whose height Dyeworks can measure. Export the model again with its parts in a scene.',
    flat: 'The model is flat, so it has no height to scale by. Give a factor.',
    factor: 'The factor must be a number above 0. Correct it.',
    unreadable:
      'Some positions, or the animations that move them, cannot be read or are not finite numbers. Export the damaged parts again.',
    otherHeight: (seenM: number, heightM: number) =>
      `The step was made for a model ${formatMm(seenM)} high, but this one is ${formatMm(heightM)} high. Choose another factor.`,
    sameHeight: (heightM: number) => `The model is already ${formatMm(heightM)} high.`,
    sameSize: 'A factor of 1 changes no size.',
    /** @param nodes nodes that have the factor, since their geometry is packed */
    done: ({
      factor,
      unit,
      heightM,
      nodes,
    }: {
      readonly factor: number;
      readonly unit: string | undefined;
      readonly heightM: { readonly before: number; readonly after: number } | null;
      readonly nodes: number;
    }) =>
      `Scaled by ${Number(factor.toPrecision(7))}${unit ? ` (${describeUnit(unit)})` : ''}${
        heightM ? `: ${formatMm(heightM.after)} high, ${formatMm(heightM.before)} before` : ''
      }.${
        nodes === 0
          ? ''
          : ` ${count(nodes, 'node')} ${pick(nodes, 'has', 'have')} the factor, because ${pick(nodes, 'its', 'their')} geometry is quantised or compressed.`
      }`,
  },
  place: {
    empty: 'The scene shows no part to place. Export the model again with its parts in a scene.',
    inPlace: (stands: Stands) => `The model already ${describeStand(stands)}.`,
    /** @param shiftsM metres along X, Y and Z; null where it does not move */
    done: (shiftsM: readonly (number | null)[], stands: Stands) =>
      `Moved by ${join(
        shiftsM.flatMap((by, axis) => (by === null ? [] : `${formatMm(by)} along ${'XYZ'[axis]}`)),
      )}. The model now ${describeStand(stands)}.`,
  },
  turn: {
    wholeTurn: 'A full turn changes no direction.',
    empty: 'The scene shows no part to turn. Export the model again with its parts in a scene.',
    done: (degrees: number, axis: string, sidesM: readonly [width: number, depth: number, height: number] | null) =>
      `Turned by ${Number(degrees.toFixed(6))}° about ${axis.toUpperCase()}.${
        sidesM
          ? ` The model is now ${formatMm(sidesM[0])} wide, ${formatMm(sidesM[1])} deep and ${formatMm(sidesM[2])} high.`
          : ''
      }`,
  },
  'bake-transforms': {
    nothing: 'No part has a transform to bake.',
    done: ({
      nodes,
      vertices,
      mirrored,
      meshesCopied,
      nodesRemoved,
    }: Readonly<Record<'nodes' | 'vertices' | 'mirrored' | 'meshesCopied' | 'nodesRemoved', number>>) =>
      `${count(nodes, 'part')} no longer ${pick(nodes, 'has', 'have')} a transform: ${present(
        `${count(vertices, 'vertex', 'vertices')} moved`,
        mirrored > 0 && `${count(mirrored, 'mirrored part')} corrected`,
        meshesCopied > 0 && `${count(meshesCopied, 'copy', 'copies')} of shared meshes made`,
        nodesRemoved > 0 && `${count(nodesRemoved, 'empty node')} removed`,
      ).join(', ')}.`,
  },
  'merge-parts': {
    nothing: (parts: number) =>
      parts < 2
        ? 'The scene has fewer than two parts that can be merged.'
        : `No two of the ${formatNumber(parts)} parts have the same material, so none can be merged.`,
    tooLarge: (parts: number, bytes: number, limit: number) =>
      `Merged, the ${count(parts, 'part')} would take about ${Math.round(bytes / 1e6)} MB, but merged parts can take at most ${limit / 1e6} MB. Leave this repair out.`,
    done: ({
      partsBefore,
      drawsBefore,
      drawsAfter,
      triangles,
      vertices,
    }: Readonly<Record<'partsBefore' | 'drawsBefore' | 'drawsAfter' | 'triangles' | 'vertices', number>>) =>
      `${count(partsBefore, 'part')} became one mesh: ${count(drawsBefore, 'draw call')} became ${formatNumber(drawsAfter)}, with ${count(triangles, 'triangle')} and ${count(vertices, 'vertex', 'vertices')}.`,
  },
  'separate-pieces': {
    unknownMaterial: (material: string, all: readonly string[]) =>
      `The model has no material “${material}”.${all.length === 0 ? '' : ` It has ${join(all)}.`} Correct the name.`,
    groupWithoutName: (group: number) => `Group ${group} has no name. Name the slot that its pieces become.`,
    groupTwice: (name: string) => `Two groups have the name “${name}”. Give each its own name.`,
    nameInUse: (name: string) => `The model has another material “${name}”. Choose another name for the group.`,
    noneFound: (pieces: number, material: string) =>
      `No piece of ${material} (${count(pieces, 'piece')}) fits an id, name, shape or colour that you chose. Choose the pieces again.`,
    nothing: (material: string) => `All pieces that Dyeworks found stay with ${material}.`,
    /** @param groups pieces found for each group */
    done: ({
      material,
      groups,
      byId,
      byPart,
      byShape,
      byColour,
      left,
    }: Readonly<Record<'byId' | 'byPart' | 'byShape' | 'byColour' | 'left', number>> & {
      readonly material: string;
      readonly groups: readonly { readonly name: string; readonly pieces: number }[];
    }) => {
      const found = byId + byPart + byShape + byColour;
      const slots = groups.filter(({ pieces }) => pieces > 0);
      const empty = groups.filter(({ pieces }) => pieces === 0);
      const ways = present(
        `${formatNumber(byId)} found by id`,
        byPart > 0 && `${formatNumber(byPart)} by name`,
        byShape > 0 && `${formatNumber(byShape)} by shape`,
        byColour > 0 && `${formatNumber(byColour)} by colour`,
        left > 0 && `${formatNumber(left)} ${pick(left, 'stays', 'stay')} with ${material}`,
      );
      return `${count(found, 'piece')} of ${material} ${pick(found, 'is', 'are')} now the ${pick(slots.length, 'slot', 'slots')} ${join(
        slots.map(({ name, pieces }) => `“${name}” (${formatNumber(pieces)})`),
      )}: ${ways.join(', ')}.${empty.length > 0 ? ` Dyeworks found no pieces for ${join(empty.map(({ name }) => `“${name}”`))}.` : ''}`;
    },
  },
  'set-nonmetal': {
    noMetal: 'No material of the model is metallic.',
    notNamed: (metallic: readonly string[]) =>
      `Choose the materials that are not metal. These are metallic now: ${join(metallic)}.`,
    already: (materials: readonly string[]) =>
      `${join(materials)} ${pick(materials.length, 'is', 'are')} already non-metallic.`,
    done: (materials: readonly string[], mapsKept: number) =>
      `The metalness of ${join(materials)} is now 0.${
        mapsKept === 0
          ? ''
          : ` ${count(mapsKept, 'metalness and roughness map')} ${pick(mapsKept, 'stays for its', 'stay for their')} roughness.`
      }`,
  },
  'neutral-detail': {
    /** @param materials those that were named; null for all */
    nothing: (materials: readonly string[] | null) =>
      materials
        ? `No colour map of ${join(materials)} is left to convert to neutral detail.`
        : 'No colour map of the model is left to convert to neutral detail.',
    unfit: 'No colour map can be converted to neutral detail.',
    unreadable: (materials: readonly string[]) =>
      materials.length === 0
        ? ''
        : ` The colour map of ${join(materials)} cannot be read and stays as it is. Export it as PNG or JPEG.`,
    black: (materials: readonly string[]) =>
      materials.length === 0 ? '' : ` The colour map of ${join(materials)} shows only black and stays as it is.`,
    clipped: (materials: readonly string[]) =>
      materials.length === 0
        ? ''
        : ` The mean colour of ${join(materials)} is too light or too vivid for a neutral map, so Dyeworks used the nearest one that is possible.`,
    done: ({
      images,
      materials,
      means,
      bytesBefore,
      bytesAfter,
    }: Readonly<Record<'images' | 'bytesBefore' | 'bytesAfter', number>> &
      Readonly<Record<'materials' | 'means', readonly string[]>>) =>
      `${count(images, 'colour map')} ${pick(images, 'is', 'are')} now neutral detail, on ${join(materials)}. The pattern stays; the linear mean is ${join(means)}; ${formatBytes(bytesBefore)} became ${formatBytes(bytesAfter)}.`,
  },
  'fit-textures': {
    size: (sizePx: number, limitPx: number) =>
      `The size is ${sizePx} px, but must be a whole number from 1 to ${limitPx}. Correct it.`,
    quality: (quality: number) => `The quality is ${quality}, but must be a whole number from 1 to 100. Correct it.`,
    noMaps: 'No material of the model has a map.',
    nothing: (images: number) =>
      `${images === 1 ? 'The image' : `None of the ${formatNumber(images)} images`} can${images === 1 ? 'not' : ''} be made smaller this way.`,
    done: ({
      images,
      of,
      sizePx,
      bytesBefore,
      bytesAfter,
    }: Readonly<Record<'images' | 'of' | 'sizePx' | 'bytesBefore' | 'bytesAfter', number>>) =>
      `${formatNumber(images)} of ${count(of, 'image')} now ${pick(images, 'has', 'have')} at most ${sizePx} px on the longest side: ${formatMB(bytesBefore)} became ${formatMB(bytesAfter)}.`,
    /** @param unreadable indices of images */
    unchanged: (kept: number, ktx2: number, unreadable: readonly number[]) => {
      const parts = present(
        kept > 0 && `${formatNumber(kept)} that ${pick(kept, 'is', 'are')} small enough or would grow`,
        ktx2 > 0 && `${formatNumber(ktx2)} in KTX2, which Dyeworks does not write`,
        unreadable.length > 0 && `${join(unreadable.map((index) => `image ${index}`))}, which cannot be read`,
      );
      return parts.length === 0 ? '' : ` Unchanged: ${parts.join('; ')}.`;
    },
  },
  'strip-unused': {
    unknownExtension: (extensions: readonly string[]) =>
      `The model uses ${listNames(extensions)}, which may refer to any object, so Dyeworks cannot tell which objects are unused. Export the model without ${pick(extensions.length, 'this extension', 'these extensions')}.`,
    emptyScenes:
      'No scene of the model shows a part, so the repair would remove all of them. Export the model again with its parts in a scene.',
    nothing: 'The file uses all of its objects and bytes.',
    /** @param objects how many were removed, by array of the document, with channels and lights */
    done: (objects: readonly (readonly [kind: string, n: number])[], bytes: number) =>
      `Dyeworks removed ${join(
        present(
          ...objects.flatMap(([kind, n]) => (n > 0 ? [count(n, ...OBJECTS[kind]!)] : [])),
          bytes > 0 && `${formatBytes(bytes)} of unread data`,
        ),
      )}.`,
  },
  'rename-materials': {
    invalidName: (name: string) => `“${name}” cannot be a name. Give 1 to 120 characters without control characters.`,
    materialTwice: (material: string) => `Two entries rename ${material}. Keep one.`,
    nameTwice: (name: string, one: string, other: string) =>
      `Two materials would have the name “${name}”: ${one} and ${other}. Choose another name for one of them.`,
    ambiguous: (name: string, pointers: readonly string[]) =>
      `${count(pointers.length, 'material')} have the name “${name}”: ${pointers.join(', ')}. Remove this step, or export the model with a different name for each.`,
    unknown: (name: string) => `The model has no material “${name}”. Remove this entry, or correct the name.`,
    nothing: 'The materials already have these names.',
    done: (renamed: readonly { readonly material: string; readonly name: string }[]) => {
      const rest = renamed.length - LISTED;
      const listed = renamed.slice(0, LISTED).map(({ material, name }) => `${material} is now “${name}”`);
      return `${listed.join(', ')}${rest > 0 ? ` and ${formatNumber(rest)} more` : ''}.`;
    },
  },
  'fix-scene': {
    nothing: 'The scenes are in order.',
    done: ({
      childrenDropped,
      childrenSetFree,
      rootsListed,
      listedTwice,
      emptyLists,
      scenesMade,
      defaultSet,
    }: Readonly<
      Record<
        | 'childrenDropped'
        | 'childrenSetFree'
        | 'rootsListed'
        | 'listedTwice'
        | 'emptyLists'
        | 'scenesMade'
        | 'defaultSet',
        number
      >
    >) =>
      `The scenes are now in order: ${present(
        childrenDropped > 0 &&
          `${count(childrenDropped, 'child', 'children')} removed from the list of a scene that lists the parent too`,
        childrenSetFree > 0 &&
          `${count(childrenSetFree, 'child', 'children')} made root nodes, because no scene has the parent`,
        rootsListed > 0 && `${count(rootsListed, 'root node')} listed instead of a child`,
        listedTwice > 0 && `${count(listedTwice, 'repeated entry', 'repeated entries')} removed`,
        emptyLists > 0 && `${count(emptyLists, 'empty list')} removed`,
        scenesMade > 0 && 'a scene made of all root nodes, because the file had none',
        defaultSet > 0 && 'the first scene made the default',
      ).join('; ')}.`,
  },
  'unshare-mesh': {
    unknown: (mesh: string) => `The model has no mesh “${mesh}”. Remove it from the list, or correct the name.`,
    nothing: (isNamed: boolean) => `${isNamed ? 'None of these meshes' : 'No mesh'} is used by several nodes.`,
    animated: 'An animation changes the shared meshes by pointer, and would not change their copies. Keep them shared.',
    done: (meshes: readonly string[], copies: number, leftShared: number) =>
      `Dyeworks made ${count(copies, 'copy', 'copies')} of ${join(meshes)}, so every node has a mesh of its own.${
        leftShared === 0
          ? ''
          : ` ${count(leftShared, 'mesh', 'meshes')} ${pick(leftShared, 'is', 'are')} still shared, because an animation changes ${pick(leftShared, 'it', 'them')} by pointer.`
      }`,
  },
  'box-uvs': {
    notBoxable: (parts: ReadonlyMap<NotBoxable, number>) =>
      `Dyeworks cannot generate these box UVs: ${[...parts]
        .map(([reason, n]) => `${count(n, 'part')} ${pick(n, ...NOT_BOXABLE[reason])}`)
        .join(', ')}. Choose the materials of other parts, or export these parts with UVs.`,
    unusedMaterials: (materials: readonly string[]) =>
      `No part of the scene uses ${join(materials)}. Name a material that is in use.`,
    nothing: 'Every part already has UVs that can place maps.',
    tooLarge: 'The parts are too large for single-precision UVs. Scale the model to its real size first.',
    done: ({
      primitives,
      triangles,
      verticesAdded,
      tangentsDropped,
      meshesCopied,
      metresPerUnit,
    }: Readonly<
      Record<
        'primitives' | 'triangles' | 'verticesAdded' | 'tangentsDropped' | 'meshesCopied' | 'metresPerUnit',
        number
      >
    >) =>
      [
        `${count(primitives, 'part')} (${count(triangles, 'triangle')}) now ${pick(primitives, 'has', 'have')} box UVs, at one unit for ${metresPerUnit === 1 ? 'a metre' : `${Number(metresPerUnit.toPrecision(5))} m`}.`,
        verticesAdded > 0
          ? ` Dyeworks doubled ${count(verticesAdded, 'vertex', 'vertices')} where neighbouring triangles face different sides.`
          : '',
        tangentsDropped > 0
          ? ` It removed the tangents of ${count(tangentsDropped, 'part')}, because they depended on the previous UVs.`
          : '',
        meshesCopied > 0
          ? ` It made ${count(meshesCopied, 'copy', 'copies')} of shared meshes for nodes with another rotation or scale.`
          : '',
      ].join(''),
  },
  'turn-outward': {
    noneFound: 'None of the named pieces is in the model, by id or shape. Choose the pieces again.',
    unreadable:
      'The normals of these pieces cannot be read. Export the model again with another compression, or with none.',
    piecesFaceOutward: 'Every named piece faces outward.',
    materialsFaceOutward: (materials: readonly string[]) =>
      `All pieces of ${join(materials)} face outward, or may be intended as they are.`,
    allFaceOutward: 'Every piece faces outward, or may be intended as it is.',
    done: ({
      pieces,
      triangles,
      both,
      winding,
      normals,
    }: Readonly<Record<'pieces' | 'triangles' | 'both' | 'winding' | 'normals', number>>) =>
      `Dyeworks turned ${count(pieces, 'piece')} outward (${count(triangles, 'triangle')}): ${present(
        both > 0 && `${formatNumber(both)} with corners and normals`,
        winding > 0 && `${formatNumber(winding)} with corners only`,
        normals > 0 && `${formatNumber(normals)} with normals only`,
      ).join(', ')}.`,
  },
} as const satisfies Readonly<Record<RepairName, RepairTexts>>;

/** For repairs of named materials: the list is empty, or the model has none of them. */
export function describeNoMaterials(missing: readonly string[], all: readonly string[]): string {
  if (missing.length === 0) return 'The list of materials is empty. Name at least one.';
  return `${REPAIR_NOTES.missing(missing, all).trim()} Correct the names.`;
}

type RepairTexts = Readonly<Record<string, string | ((...figures: never[]) => string)>>;

interface Stands {
  readonly mount: 'floor' | 'table' | 'ceiling' | 'wall';
  readonly isCentred: boolean;
}

const STANDS: Readonly<Record<Stands['mount'], string>> = {
  floor: 'stands on the floor',
  table: 'stands on the table top',
  ceiling: 'hangs from the ceiling',
  wall: 'has its back at the wall',
};

function describeStand({ mount, isCentred }: Stands): string {
  return `${STANDS[mount]}${isCentred ? ', centred' : ''}`;
}

/** Bytes of images, for comparison: two digits of a megabyte. */
function formatMB(bytes: number): string {
  return bytes < 100_000 ? `${(bytes / 1e3).toFixed(1)} kB` : `${(bytes / 1e6).toFixed(2)} MB`;
}
