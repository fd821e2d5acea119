import { formatBytes, formatNumber, formatSize, pick } from './format-text.ts';

interface Size {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

/** Differences between two models of a product: a sentence each. */
export const MODEL_CHANGES = {
  lost: (slots: readonly string[]) => `Not found in the new model: ${slots.join(', ')}. Their settings are kept.`,
  added: (materials: readonly string[]) => `New: ${materials.join(', ')}.`,
  found: (slots: number, lost: number) => {
    if (lost > 0) return `${slots} of ${slots + lost} slots were found again.`;
    return `${pick(slots, 'The slot was', `All ${slots} slots were`)} found again.`;
  },
  foundOtherwise: (slot: string, byPieces: boolean) =>
    `${slot} was found by ${byPieces ? 'the shape and place of its pieces' : 'its area and UVs'}, because its material has another name.`,
  size: (before: Size, after: Size) =>
    `Size: ${formatSize(after)}; was ${formatSize(before)} (width × depth × height).`,
  sameSize: (size: Size) => `Size: ${formatSize(size)}, unchanged.`,
  bytes: (before: number, after: number) => `File size: ${formatBytes(after)}; was ${formatBytes(before)}.`,
  triangles: (before: number, after: number) => `Triangles: ${formatNumber(after)}; was ${formatNumber(before)}.`,
  draws: (before: number, after: number) => `Draw calls: ${formatNumber(after)}; was ${formatNumber(before)}.`,
  pieces: (same: number, added: number, gone: number) => `Pieces: ${same} unchanged, ${added} new, ${gone} removed.`,
  /** Metres of surface for one UV unit; null where unknown. */
  density: (slot: string, before: number | null, after: number | null) =>
    `${slot}: one UV unit is ${formatUnit(after)}; it was ${formatUnit(before)}. Maps of finishes are scaled to it.`,
  material: (slot: string, changes: readonly string[]) => `${slot}: ${changes.join('; ')}.`,
  unnamedMaterial: 'unnamed material',
} as const;

/** Differences between two materials of a slot, as parts of a sentence. */
export const MATERIAL_CHANGES = {
  name: (before: string, after: string) => `its name changed from “${before || 'unnamed'}” to “${after || 'unnamed'}”`,
  mapsGone: (maps: readonly string[]) => `it no longer has ${maps.join(', ')}`,
  mapsAdded: (maps: readonly string[]) => `it now has ${maps.join(', ')}`,
  alphaMode: (before: string, after: string) => `its alpha mode changed from ${before} to ${after}`,
  sides: (isDoubleSided: boolean) => `it is now ${isDoubleSided ? 'double-sided' : 'single-sided'}`,
  baseColour: (channels: readonly string[]) => `its base colour factor changed in ${channels.join(', ')}`,
  factor: (name: string, before: number, after: number) =>
    `its ${name} factor changed from ${before.toFixed(2)} to ${after.toFixed(2)}`,
  mapSize: (map: string, before: string, after: string) => `its ${map} changed from ${before} to ${after} px`,
  mapImage: (map: string) => `its ${map} is a different image`,
  neutralDetail: (isNeutral: boolean) => `its colour map is ${isNeutral ? 'now' : 'no longer'} neutral detail`,
} as const;

function formatUnit(metres: number | null): string {
  return metres === null ? 'unknown' : `${metres.toPrecision(3)} m`;
}

/** Differences between two states of a line: a sentence each. */
export const LINE_CHANGES = {
  name: (before: string, after: string) => `The name changed from “${before}” to “${after}”.`,
  positionAdded: (label: string) => `The position “${label}” was added.`,
  positionRemoved: (label: string) => `The position “${label}” was removed.`,
  positionOptions: (label: string) => `The options of the position “${label}” changed.`,
  positionRenamed: (before: string, after: string) => `The position “${before}” was renamed “${after}”.`,
  positionsMoved: 'The order of the positions changed.',
  finishAdded: (finish: string) => `${finish} was added to the range.`,
  finishRemoved: (finish: string) => `${finish} was removed from the range.`,
  finishChanged: (finish: string, before: string, after: string) => `${finish}: ${after}; was ${before}.`,
  rangeMoved: 'The order of the range changed.',
  ruleAdded: (rule: string) => `A rule was added: ${rule}.`,
  ruleRemoved: (rule: string) => `A rule was removed: ${rule}.`,
  rulesMoved: 'The order of the rules changed.',
  /** A finish as the line sells it. */
  entry: (entry: {
    readonly status: string;
    readonly grade?: string;
    readonly lastOrder?: string;
    readonly replacedBy?: string;
  }) =>
    [
      entry.status,
      entry.grade === undefined ? 'without grade' : `grade ${entry.grade}`,
      ...(entry.lastOrder === undefined ? [] : [`last order ${entry.lastOrder}`]),
      ...(entry.replacedBy === undefined ? [] : [`replaced by ${entry.replacedBy}`]),
    ].join(', '),
} as const;

/** Reasons why a decision lapsed: a sentence each. A place is a slot, or a finish by itself. */
export const LOOK_CHANGES = {
  slot: (label: string) => `“${label}”`,
  finish: (finish: string) => `The finish ${finish}`,
  mount: (before: string | undefined, after: string | undefined) => `The mount changed from ${before} to ${after}.`,
  removed: (place: string) => `${place} was removed.`,
  added: (place: string) => `${place} was added.`,
  fixed: (place: string) => `${place} is fixed now and shows the model’s own material.`,
  notFixed: (place: string) => `${place} is no longer fixed.`,
  parts: (place: string) => `${place} covers other parts of the model now.`,
  otherFinish: (place: string, before: string, after: string) => `${place} has ${after} now; it had ${before}.`,
  finishChanged: (finish: string, place: string | null) =>
    `The finish ${finish}${place === null ? '' : ` on ${place}`} has changed.`,
  kept: (place: string) => `${place} keeps other properties of its part now.`,
  grain: (place: string, before: number | undefined, after: number | undefined) =>
    `The grain direction on ${place} changed from ${before}° to ${after}°.`,
  modelRemoved: 'The model has been removed.',
  modelRevision: (before: number, after: number) => `The model changed from revision ${before} to revision ${after}.`,
  modelAdded: (revision: number) => `The model was added later, as revision ${revision}.`,
  finishRevision: (finish: string, before: number, after: number | undefined) =>
    `${finish} changed from revision ${before} to revision ${after}.`,
  levelled: (finish: string) => `The colour map of ${finish} is now adjusted to match the specified colour.`,
} as const;
