import type { Mount } from '../../server/core/picture/picture.ts';
import type { Axis, RepairName, RepairReport } from '../../server/core/repair/repair.ts';
import { count, describeUnit, formatNumber } from '../../server/core/texts/format-text.ts';

/** Texts of the readiness section: findings, the repairs that resolve them, and their outcome. */
export const readinessTexts = {
  heading: 'Readiness',
  noFindings: 'No findings.',
  findingCounts: (errors: number, warnings: number, notes: number) => {
    const counts = [
      errors > 0 && `${count(errors, 'finding')} ${errors === 1 ? 'blocks' : 'block'} delivery`,
      warnings > 0 && `${count(warnings, 'finding')} to check`,
      notes > 0 && count(notes, 'note'),
    ];
    return `${counts.filter(Boolean).join(', ')}.`;
  },
  notes: (notes: number) => count(notes, 'note'),
  notesOnly: (notes: number) => `${count(notes, 'note')}, nothing blocks delivery.`,

  // proposed repairs
  otherRepairs: 'Other repairs',
  repairsIntro:
    'Dyeworks applies the ticked repairs in the right order and saves the result as a new revision. The repairs join the preparation, which runs on every newer export.',
  preview: 'Preview repairs',
  apply: (repairs: number) => (repairs === 1 ? 'Apply repair' : `Apply ${repairs} repairs`),
  previewing: 'Trying the repairs on a copy of the model. A large model takes about a minute.',
  applying: 'Applying the repairs and measuring the result. A large model takes about a minute.',
  nothingTicked: 'No repair is ticked.',
  unfit: 'Some repairs cannot be applied. Untick them, or accept their losses where Dyeworks offers it.',
  outcome: 'Result',
  applied: (revision: number, repairs: number) => `Revision ${revision} is saved, with ${count(repairs, 'repair')}`,
  undoRepairs: (repairs: number) => (repairs === 1 ? 'Undo this repair' : 'Undo these repairs'),
  acceptLosses: (losses: readonly string[]) => `Accept the loss of: ${losses.join(', ')}`,
  lossesAccepted: 'Losses are accepted',

  // repairs of a finding
  separationQuestion: 'Which parts change separately?',
  noSeparation: 'None, keep one slot',
  slotList: (slots: number, names: readonly string[], more: number) =>
    `${count(slots, 'slot')}: ${names.join(', ')}${more > 0 ? ` and ${formatNumber(more)} more` : ''}`,
  settledAbove: 'A repair above resolves this too.',
  settledByMerge: 'The proposed merge of loose parts resolves this too.',
  offer: 'Repair:',
  unitQuestion: 'Which unit is right?',
  unitUnknown: 'Not known, keep the size',
  resultingSize: (size: string) => `, giving ${size}`,

  // pieces of a separation
  separationCaption: (material: string) => `New slots for the pieces of ${material}`,
  separationColumns: { slot: 'Slot', pieces: 'Pieces', merge: 'Merge with' },
  slotName: (row: number, pieces: number) => `Name of slot ${row}, ${count(pieces, 'piece')}`,
  mergeSlot: (name: string) => `Merge ${name} with`,
  noMerge: 'no other slot',

  // before and after
  unchangedYet: 'Not applied yet',
  now: 'Now',
  after: 'After',
  same: 'same',
  rows: { size: 'Size, W × D × H', slots: 'Slots', draws: 'Draw calls', triangles: 'Triangles', bytes: 'File size' },
  verdictAfter: 'Verdict after the repairs: ',

  // orientation
  orientation: 'Orientation',
  orientationIntro: 'If the front view does not show the front, turn the product. The turn joins the repairs above.',
  turns: {
    clockwise: 'Turn 90° clockwise, seen from above',
    counterClockwise: 'Turn 90° counter-clockwise',
    forward: 'Tip forward',
    backward: 'Tip backward',
  },
  degrees: 'Degrees',
  axis: 'Axis',
  axes: {
    x: 'about the left–right axis (X)',
    y: 'about the vertical axis (Y)',
    z: 'about the front–back axis (Z)',
  },
  turn: 'Turn',

  // variants of the model, and misnamed variants
  importVariants: 'Import variants',
  importing: 'Importing variants',
  imported: (variants: number, finishes: number) =>
    `Imported ${count(variants, 'variant')} with ${count(finishes, 'finish', 'finishes')}. See the schedule.`,
  importQuestion: (variants: number) =>
    `The import adds finishes, a revision and a schedule${
      variants > 0 ? ` that replaces your ${count(variants, 'variant')}` : ''
    }. It cannot be undone, because other products may then use these finishes.`,
  replaceSchedule: 'Replace schedule',
  template: 'Name template ({slot} becomes the name of its finish)',
  saveFirst: 'Save the schedule first.',
  renameVariants: 'Rename variants',
} as const;

/** Names of units as they appear in “drawn in …”. */
const PLACES: Readonly<Record<Mount, string>> = {
  floor: 'Stand the product on the floor',
  table: 'Stand the product on the table top',
  ceiling: 'Hang the product from the ceiling',
  wall: 'Put the product’s back against the wall',
};

/** Repairs in words: each with its settings as a sentence without full stop, and in short for the list of revisions. */
export const repairTexts = {
  scaleToHeight: (heightMm: string) => `Scale to a height of ${heightMm} mm`,
  scale: 'Scale',
  scaleBy: (factor: string) => `Scale by ${factor}`,
  /** The explanation of a scale, such as “the model was drawn in centimetres”. */
  unit: (unit: string) => describeUnit(unit),
  place: (mount: Mount | undefined) => (mount === undefined ? 'Place the product by its mount' : PLACES[mount]),
  placeCentred: (place: string) => `${place}, centred on the origin`,
  placeUncentred: (place: string) => `${place}, without moving it sideways`,
  bakeTransforms: 'Bake rotation and scale into the geometry, so that every part has scale 1',
  mergeParts: 'Merge loose parts into one part per material',
  separatePieces: (material: string, slots: number, names: string) =>
    `Separate the pieces of ${material} into ${count(slots, 'slot')}: ${names}`,
  setNonmetal: (materials: string) => `Set ${materials} to non-metal`,
  setAllNonmetal: 'Set all materials that are wrongly metallic to non-metal',
  neutralDetail: (maps: number | null, materials: string) =>
    `Convert the colour ${maps === 1 ? 'map' : 'maps'}${maps === null ? '' : ` of ${materials}`} to neutral detail: the pattern stays, the colour goes`,
  fitTextures: (sizePx: number) => `Reduce textures to at most ${sizePx} px`,
  textureFormat: (format: 'jpg' | 'png' | 'webp') => `, as ${{ jpg: 'JPEG', png: 'PNG', webp: 'WebP' }[format]}`,
  textureQuality: (quality: number) => `, quality ${quality}`,
  lossyNormals: ', including normal maps',
  stripUnused: 'Remove everything the scene does not use',
  rename: (names: string) => `Rename ${names}`,
  renameOne: (from: string, to: string) => `${from} to “${to}”`,
  fixScene: 'Fix the scene: list only nodes without a parent',
  unshareMeshes: (meshes: string) => `Give each node that shares ${meshes} its own mesh`,
  unshareAllMeshes: 'Give each node that shares a mesh its own',
  boxUvs: (materials: string, scale: string) =>
    `Generate box UVs for ${materials} at true size${scale}, replacing existing UVs`,
  boxUvsWhereMissing: (scale: string) => `Generate box UVs at true size where UVs are missing${scale}`,
  boxUvScale: (metres: string) => `, ${metres} m per unit`,
  turnPiecesOutward: (pieces: number) => `Turn ${count(pieces, 'piece')} outward`,
  turnMaterialsOutward: (materials: string) => `Turn the inward pieces of ${materials} outward`,
  turnAllOutward: 'Turn all inward pieces outward',
  /** A turn as seen by a person in front of the product: y is up, and the front faces +z (glTF 2.0 §3.4). */
  turn: (axis: Axis, degrees: number, angle: string) => {
    const counter = degrees >= 0;
    if (axis === 'y') return `Turn ${angle}° ${counter ? 'counter-clockwise' : 'clockwise'}, seen from above`;
    if (axis === 'x') return `Tip ${angle}° ${counter ? 'forward' : 'backward'}`;
    return `Tip ${angle}° to the ${counter ? 'left' : 'right'}, seen from the front`;
  },
  unnamedMaterial: (index: string) => `material ${index}`,
  quoted: (name: string) => `“${name}”`,
  /** “a”, “a and b”, “a, b, c, d and 3 more”. */
  list: (names: readonly string[], more: number) => {
    if (more > 0) return `${names.join(', ')} and ${formatNumber(more)} more`;
    return names.length < 2 ? (names[0] ?? '') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
  },

  // outcomes
  outcomes: {
    done: 'Done',
    'nothing-to-do': 'Nothing to do',
    unfit: 'Not applicable',
  } satisfies Record<RepairReport['outcome'], string>,
  previewDone: 'Preview',
  lost: (losses: readonly string[]) => `Lost: ${losses.join(', ')}.`,

  // the origin of a revision
  done: {
    scale: 'scaled',
    place: 'placed',
    'bake-transforms': 'transforms baked',
    'merge-parts': 'parts merged',
    'separate-pieces': 'pieces separated',
    'set-nonmetal': 'set to non-metal',
    'neutral-detail': 'colour maps made neutral',
    'fit-textures': 'textures reduced',
    'strip-unused': 'unused content removed',
    'rename-materials': 'materials renamed',
    'fix-scene': 'scene fixed',
    'unshare-mesh': 'shared meshes split',
    'box-uvs': 'UVs generated',
    'turn-outward': 'pieces turned outward',
    turn: 'turned',
  } satisfies Record<RepairName, string>,
  received: 'Received',
  nothingChanged: 'nothing changed',
  repairedFrom: (revision: number, repairs: string, unfit: number) =>
    `From revision ${revision}: ${repairs}${unfit > 0 ? `; ${count(unfit, 'step')} not applicable` : ''}`,
} as const;
