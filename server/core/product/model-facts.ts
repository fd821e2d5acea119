import { NAME_LENGTH } from '../codes.ts';
import type { MaterialReference } from '../repair/repair.ts';
import type { Budget } from './budgets.ts';
import type { Product, RevisionOrigin } from './product.ts';
import type { Slot } from './slot.ts';
import type { Piece, Survey, SurveyedImage, SurveyedMaterial } from './survey.ts';

/** The input of a model check. */
export interface ModelUnderCheck {
  readonly product: Product;
  readonly survey: Survey;
  readonly slots: readonly Slot[];
  readonly budget: Budget;
  /** When absent, there is no finding about separation. */
  readonly pieces?: readonly Piece[];
  readonly origin?: RevisionOrigin;
  /** Whether it arrived as a `.gltf` or a zip of one and was packed. */
  readonly packed?: boolean;
}

/** A model under check, with facts that several checks need. */
export interface ModelFacts extends ModelUnderCheck {
  /** Materials that draw triangles. */
  readonly drawn: readonly SurveyedMaterial[];
  /** The drawn materials that take finishes. */
  readonly open: readonly SurveyedMaterial[];
  /** Materials of fixed slots; null is glTF's default material. */
  readonly fixed: ReadonlySet<number | null>;
  /** A material as repairs name it. */
  refer(material: SurveyedMaterial): MaterialReference;
}

export function gatherFacts(model: ModelUnderCheck): ModelFacts {
  const { survey, slots } = model;
  const fixed = new Set(slots.filter((slot) => slot.fixed).flatMap((slot) => slot.materials));
  const drawn = survey.materials.filter((material) => material.primitives > 0);
  const uses = new Map<string, number>();
  for (const { name } of survey.materials) uses.set(name, (uses.get(name) ?? 0) + 1);
  return {
    ...model,
    drawn,
    open: drawn.filter((material) => !fixed.has(material.index)),
    fixed,
    refer: ({ name, index }) =>
      uses.get(name) === 1 && canBeReference(name) ? name : (`/materials/${index}` satisfies MaterialReference),
  };
}

/** Whether a name identifies a material: not empty, not too long for a name, and not a JSON pointer. */
function canBeReference(name: string): boolean {
  const length = [...name].length;
  return name.trim() !== '' && length <= NAME_LENGTH.max && !/\p{Cc}/u.test(name) && !name.startsWith('/materials/');
}

export function pointerOf({ index }: SurveyedMaterial): string {
  return `/materials/${index}`;
}

/** The image a material uses as one of its maps; undefined when it has none. */
export function findImage(survey: Survey, material: SurveyedMaterial, use: MapUse): SurveyedImage | undefined {
  const map = material.maps.find((candidate) => candidate.use === use);
  return map?.image === null || map === undefined ? undefined : survey.images[map.image];
}

export function hasMap(material: SurveyedMaterial, use: MapUse): boolean {
  return material.maps.some((map) => map.use === use);
}

export const COLOUR_MAP = 'pbrMetallicRoughness.baseColorTexture';
export const METAL_MAP = 'pbrMetallicRoughness.metallicRoughnessTexture';
export const NORMAL_MAP = 'normalTexture';
export type MapUse = typeof COLOUR_MAP | typeof METAL_MAP | typeof NORMAL_MAP;
