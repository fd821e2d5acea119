import type { ColourSource, ColourSpecification, Family, FinishMaps, RangeStatus } from '../finish/finish.ts';
import type { LevelledMap } from '../finish/level-map.ts';
import type { DeliveredColour } from '../finish/resolve-finish.ts';
import type { Finding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { ValidatorMessage, ValidatorResult } from '../product/survey.ts';
import type { DeliveredGroup, ExcludedPairs } from './plan-groups.ts';

export interface DeliveryCheck {
  readonly check: string;
  readonly passed: boolean;
  readonly detail: string;
  /** Codes of the validator's errors, with their counts. */
  readonly errors?: Readonly<Record<string, number>>;
  /** How many of them the model did not arrive with; absent in older deliveries. */
  readonly added?: number;
}

/** The parts of a written file, in bytes and counts. */
export interface FileSizes {
  readonly jsonBytes: number;
  readonly modelBytes: number;
  readonly addedImageBytes: number;
  /** Bytes of unused images, left out of the file. */
  readonly leftOutBytes: number;
  /** Unused bytes that had to stay. */
  readonly deadBytes: number;
  readonly materials: number;
  readonly images: number;
}

/** A delivery that no longer counts. It is never deleted, but its files are not sent any more. */
export interface Withdrawal {
  readonly at: string;
  readonly reason: string;
  /** Null where the caller did not say. */
  readonly person: string | null;
}

/** What is said of a delivery beside its manifest. */
export interface DeliveryRecord {
  readonly note?: string;
  readonly withdrawn?: Withdrawal;
}

/** The contents and sources of a delivery: enough to write the same bytes again, and to find later changes. */
export interface DeliveryManifest extends DeliveryRecord {
  readonly format: 'dyeworks-manifest/1';
  /** Name and version of the program that wrote it. */
  readonly program: string;
  readonly product: string;
  readonly productName: string;
  readonly delivery: number;
  readonly createdAt: string;
  readonly file: { readonly sha256: string; readonly bytes: number; readonly mediaType: 'model/gltf-binary' };
  readonly model: { readonly revision: number; readonly sha256: string; readonly bytes: number };
  readonly names: 'name' | 'code';
  readonly default: string;
  readonly variants: readonly {
    readonly code: string;
    readonly name: string;
    readonly choices: Readonly<Record<string, string>>;
    /** GTIN of 14 digits, if the variant has one. */
    readonly gtin?: string;
    /** Absent in older deliveries, as everything for shops. */
    readonly sku?: string;
  }[];
  readonly finishes: readonly {
    readonly finish: string;
    readonly name: string;
    readonly revision: number;
    /** The colour as the maker stated it, with illuminant and observer; absent in older deliveries. */
    readonly specified?: ColourSpecification | null;
    readonly hex: string;
    readonly outOfGamutDeltaE: number;
    /** The next three are absent in deliveries older than levelled maps. */
    readonly colourFrom?: ColourSource;
    /** Area mean of the delivered colour; null if it cannot be measured. */
    readonly delivered?: DeliveredColour | null;
    /** How the colour map is levelled; null without one. */
    readonly levelled?: LevelledMap | null;
    /** Digests of its maps. */
    readonly maps: FinishMaps;
    /** Digest of the supplied material delivered for it. */
    readonly supplied?: string;
    /** Names by language tag, the family, and grade and status in the range of the line; absent in older deliveries. */
    readonly names?: Readonly<Record<string, string>>;
    readonly family?: Family;
    readonly grade?: string | null;
    readonly status?: RangeStatus;
  }[];
  /** How the slots keep properties of their parts, and how finishes are placed on them. */
  readonly slots: readonly Pick<Slot, 'slot' | 'materialName' | 'fixed' | 'keep' | 'grainDegrees' | 'directions'>[];
  /** Slots with several finishes, and what is not made together; absent in older deliveries. */
  readonly groups?: readonly DeliveredGroup[];
  readonly excluded?: readonly ExcludedPairs[] | null;
  readonly sizes: FileSizes;
  /** Variant names of the received model, which this file's variants replace. */
  readonly replacedVariants: readonly string[];
  readonly checks: readonly DeliveryCheck[];
  readonly findings: readonly Finding[];
  readonly caution: string;
  /** What shops need besides; absent in older deliveries. */
  readonly shop?: ShopRecord;
}

export interface ShopRecord {
  /** Slots that change finish, with their labels at the time. */
  readonly slots: readonly { readonly slot: string; readonly label: string }[];
  /** Template that the names of the variants follow; absent: the finishes in order. */
  readonly nameTemplate?: string;
  /** Variants of earlier deliveries that this one does not have, and the last delivery of each. */
  readonly discontinued: readonly (DeliveryManifest['variants'][number] & { readonly delivery: number })[];
  /** Finishes of those that the delivery does not have, as they were. */
  readonly finishes: DeliveryManifest['finishes'];
}

/** Screens and renderings are indications; the sample decides. */
export const COLOUR_CAUTION =
  'Colours on screens and in renderings are indicative. Approve a finish against a physical sample under the stated light.';

export interface DeliverySummary extends DeliveryRecord {
  readonly delivery: number;
  readonly sha256: string;
  readonly bytes: number;
  readonly variants: number;
  readonly createdAt: string;
}

/**
 * A file of a delivery beside its model. Either it is stored under its digest, or the service makes the same bytes each time from
 * the delivered model, and digest and length are known from the first time on.
 */
export interface DeliveryFile {
  /** Its path below the delivery, such as `variants/OAK.usdz`, `forms/meshopt-webp.glb`, `parts/wool.glb`. */
  readonly form: string;
  /** Whether `sha256` names a content file. */
  readonly stored: boolean;
  /** Null while it is not known yet. */
  readonly sha256: string | null;
  readonly bytes: number | null;
  readonly mediaType: string;
  /** Facts of the form, such as what it loses; its maker says which. */
  readonly details: Readonly<Record<string, unknown>>;
}

/** The validator's errors by code, with their counts, among the stored messages. */
export function countErrors({ messages }: ValidatorResult): Record<string, number> {
  const counts = new Map<string, number>();
  for (const { code, severity } of messages) if (severity === 0) counts.set(code, (counts.get(code) ?? 0) + 1);
  return Object.fromEntries(counts);
}

/**
 * Counts the errors of a written file that its source does not have. Finishes copy properties of a part to several
 * materials, so one error of the source may occur in many places. Errors are compared by code and property, without
 * indices.
 */
export function countAdded(written: readonly ValidatorMessage[], source: readonly ValidatorMessage[]): number {
  const known = new Set(source.map(keyOf));
  return written.filter((message) => message.severity === 0 && !known.has(keyOf(message))).length;
}

function keyOf({ code, pointer }: ValidatorMessage): string {
  return `${code} ${pointer.replace(VARIANT_MATERIAL, '/material').replace(/\/\d+/g, '/*')}`;
}

/** The material of a variant counts as the same property as the material of the primitive itself. */
const VARIANT_MATERIAL = /\/extensions\/KHR_materials_variants\/mappings\/\d+\/material$/;
