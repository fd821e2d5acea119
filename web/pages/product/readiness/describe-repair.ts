import type { Mount } from '../../../../server/core/picture/picture.ts';
import type { MaterialReference, Repair, RepairOf } from '../../../../server/core/repair/repair.ts';
import { count } from '../../../format.ts';

/** How many names a sentence lists before it counts the rest. */
const NAMED = 4;

/** A repair with its settings, as a sentence without its full stop. */
export function describeRepair(repair: Repair): string {
  switch (repair.repair) {
    case 'scale':
      return describeScale(repair);
    case 'place':
      return describePlace(repair);
    case 'bake-transforms':
      return 'Bake turns and scales into the geometry, so that every part has scale 1';
    case 'merge-parts':
      return 'Merge the loose parts into one for each material';
    case 'separate-pieces': {
      const { material, groups } = repair;
      const names = listFirst(groups.map(({ name }) => name));
      return `Separate the pieces of ${sayMaterial(material)} into ${count(groups.length, 'slot')}: ${names}`;
    }
    case 'set-nonmetal':
      return repair.materials
        ? `Set ${sayMaterials(repair.materials)} to be no metal`
        : 'Set every material that says metal where there is none to be no metal';
    case 'neutral-detail':
      return `Turn the colour ${repair.materials ? `${repair.materials.length === 1 ? 'map' : 'maps'} of ${sayMaterials(repair.materials)}` : 'maps'} into neutral detail: the pattern stays, the hue goes`;
    case 'fit-textures':
      return describeTextures(repair);
    case 'strip-unused':
      return 'Take out what nothing in the scene refers to';
    case 'rename-materials': {
      const names = repair.names.map(({ from, to }) => `${sayMaterial(from)} to “${to}”`);
      return `Rename ${listFirst(names)}`;
    }
    case 'fix-scene':
      return 'Mend the scene: list only nodes that have no parent';
    case 'unshare-mesh':
      return repair.meshes
        ? `Give the nodes that share ${listFirst(repair.meshes.map(quote))} meshes of their own`
        : 'Give nodes that share a mesh meshes of their own';
    case 'box-uvs': {
      const { materials, metresPerUnit = 1 } = repair;
      const scale = metresPerUnit === 1 ? '' : `, one unit to ${sayFigure(metresPerUnit)} m`;
      return materials
        ? `Generate box UVs for ${sayMaterials(materials)} at true size${scale}, in the place of any it has`
        : `Generate box UVs at true size for what has none${scale}`;
    }
    case 'turn-outward': {
      const { materials, pieces } = repair;
      if (pieces) return `Turn ${count(pieces.length, 'piece')} outward`;
      return `Turn ${materials ? `the inward pieces of ${sayMaterials(materials)}` : 'all inward pieces'} outward`;
    }
    case 'turn':
      return describeTurn(repair);
  }
}

/** A turn as a person sees it who stands before the front: y is up, and fronts face +z (glTF 2.0 §3.4). */
function describeTurn({ axis, degrees }: RepairOf<'turn'>): string {
  const angle = `${sayFigure(Math.abs(degrees))}°`;
  const counter = degrees >= 0;
  if (axis === 'y') return `Turn ${angle} ${counter ? 'counter-clockwise' : 'clockwise'}, seen from above`;
  if (axis === 'x') return `Tip ${angle} ${counter ? 'forward' : 'back'}`;
  return `Tip ${angle} to the ${counter ? 'left' : 'right'}, seen from the front`;
}

/** Units as the survey names them, in words of the one who drew it. */
const UNIT_WORDS: Readonly<Record<string, string>> = {
  mm: 'millimetres',
  cm: 'centimetres',
  inch: 'inches',
  foot: 'feet',
};

/** What a scale's unit says of the model: “it was drawn in centimetres”. */
export function describeUnit(unit: string): string {
  const taken = unit.match(/^metres taken for (.+)$/);
  if (taken) return `its metres were taken for ${UNIT_WORDS[taken[1]!] ?? taken[1]}`;
  return `it was drawn in ${UNIT_WORDS[unit] ?? unit}`;
}

function describeScale({ factor, toHeightMm, unit }: RepairOf<'scale'>): string {
  if (toHeightMm !== undefined) return `Scale to a height of ${sayFigure(toHeightMm)} mm`;
  const by = factor === undefined ? 'Scale' : `Scale by ${sayFigure(factor)}`;
  return unit === undefined ? by : `${by}: ${describeUnit(unit)}`;
}

const PLACES: Readonly<Record<Mount, string>> = {
  floor: 'Stand it on the floor',
  table: 'Stand it on the table top',
  ceiling: 'Hang it from the ceiling',
  wall: 'Set its back against the wall',
};

function describePlace({ mount, centred }: RepairOf<'place'>): string {
  const where = mount === undefined ? 'Place it by its mount' : PLACES[mount];
  return centred === false ? `${where}, and leave it where it is sideways` : `${where}, centred on the origin`;
}

const FORMATS = { jpg: 'JPEG', png: 'PNG', webp: 'WebP' } as const;

function describeTextures({ sizePx, format, quality, lossyNormals }: RepairOf<'fit-textures'>): string {
  const size = `Fit textures to ${sizePx ?? 2048} px at most`;
  const kind = format === undefined || format === 'keep' ? '' : `, as ${FORMATS[format]}`;
  const grade = quality === undefined ? '' : `, quality ${quality}`;
  return `${size}${kind}${grade}${lossyNormals ? ', normal maps too' : ''}`;
}

/** A material by its name in quotation marks, or by its number where the reference is a pointer. */
export function sayMaterial(reference: MaterialReference): string {
  const index = reference.match(/^\/materials\/(\d+)$/)?.[1];
  return index === undefined ? quote(reference) : `material ${index}`;
}

const sayMaterials = (references: readonly MaterialReference[]) => listFirst(references.map(sayMaterial));

const quote = (name: string) => `“${name}”`;

/** “a”, “a and b”, “a, b, c, d and 3 more”. */
export function listFirst(names: readonly string[]): string {
  const shown = names.slice(0, NAMED);
  const more = names.length - shown.length;
  if (more > 0) return `${shown.join(', ')} and ${more} more`;
  return shown.length < 2 ? (shown[0] ?? '') : `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
}

/** Five significant figures: a foot is 0.3048, the reverse of an inch 39.37. */
const sayFigure = (value: number) => String(Number(value.toPrecision(5)));
