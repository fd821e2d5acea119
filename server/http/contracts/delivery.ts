import { type Static, Type } from 'typebox';
import { DELIVERY_CHANGE_KINDS } from '../../core/delivery/compare-deliveries.ts';
import { COMPRESSED_FORMS } from '../../core/delivery/compressed-form.ts';
import { COLOUR_SOURCES, FAMILIES, RANGE_STATUSES } from '../../core/finish/finish.ts';
import { ColourSpecification, DeliveredColour, FinishMaps, LevelledMap } from './appearance.ts';
import { Findings } from './finding.ts';
import { Directions, Keep } from './product.ts';
import {
  Code,
  Count,
  Digest,
  Flag,
  Hex,
  Key,
  mapOf,
  Next,
  nullable,
  pairOf,
  type ReadonlyStatic,
  ref,
  strict,
  Time,
  Url,
} from './schema-parts.ts';

/** What is said of a delivery beside its manifest. */
const recordFields = {
  note: Type.Optional(Type.String()),
  withdrawn: Type.Optional(
    Type.Object(
      {
        at: Time,
        reason: Type.String(),
        person: nullable(Type.String(), 'Who withdrew it; null if the caller did not say'),
      },
      { ...strict, description: 'The delivery no longer counts, and its files answer 410' },
    ),
  ),
};

const SplitBy = Type.Enum(['article', 'grade'], {
  description:
    'Also makes files of a part of the variants each. In one file, all finishes of a slot have one article or price grade',
});
const SplitSlot = { ...Key, description: 'With splitBy: only this slot divides; otherwise every slot that varies' };

export const SplitBody = Type.Object({ splitBy: SplitBy, slot: Type.Optional(SplitSlot) }, strict);
export type SplitBody = Static<typeof SplitBody>;

export const DeliveryBody = Type.Object(
  {
    note: Type.Optional(
      Type.String({ maxLength: 2000, description: 'Shown with the delivery. A delivery that stands keeps its own' }),
    ),
    names: Type.Optional(
      Type.Enum(['name', 'code'], {
        description: 'Names of the variants in the file: their names (default), or their codes',
      }),
    ),
    forms: Type.Optional(
      Type.Array(Type.Enum([...COMPRESSED_FORMS]), {
        maxItems: COMPRESSED_FORMS.length,
        uniqueItems: true,
        description:
          'Compressed forms to make beside the delivered file, where they are missing: of the geometry, the textures, or both. The list of files states what each loses',
      }),
    ),
    splitBy: Type.Optional(SplitBy),
    slot: Type.Optional(SplitSlot),
  },
  strict,
);
export type DeliveryBody = Static<typeof DeliveryBody>;

export const WithdrawBody = Type.Object(
  {
    reason: Type.String({ maxLength: 1000, description: 'Everyone who asks for a file of the delivery gets it' }),
  },
  strict,
);
export type WithdrawBody = Static<typeof WithdrawBody>;

export const SubsetQuery = Type.Object(
  {
    variants: Type.Optional(
      Type.String({
        maxLength: 100_000,
        description: 'Codes of the variants that the file has, with commas between them; all when left out',
      }),
    ),
  },
  strict,
);
export type SubsetQuery = Static<typeof SubsetQuery>;

export const FeedQuery = Type.Object(
  {
    bom: Type.Optional({
      ...Flag,
      description: '1: begins with a byte order mark, without which some spreadsheets misread UTF-8',
    }),
  },
  strict,
);
export type FeedQuery = Static<typeof FeedQuery>;

export const BundleQuery = Type.Object(
  {
    forms: Type.Optional(
      Type.String({
        maxLength: 4000,
        description:
          'Files of the zip beside the manifest, with commas between: model, variants (a GLB each), parts, samples, usdz, usd, feed (shop data), and forms such as meshopt-webp. Default: every file of the list of the delivery',
      }),
    ),
  },
  strict,
);
export type BundleQuery = Static<typeof BundleQuery>;

const Delivery = Type.Integer({ minimum: 1 });
const urls = { model: Url, manifest: Url };

const DeliveryFile = Type.Object(
  {
    form: Type.String({ description: 'Path below the delivery' }),
    path: Url,
    mediaType: Type.String(),
    sha256: Type.Optional({ ...Digest, description: 'Missing until the file is made for the first time' }),
    bytes: Type.Optional(Count),
    details: Type.Optional(mapOf(Type.Unknown(), 'Facts of the form, such as what it loses')),
  },
  strict,
);

export const DeliveryAnswer = Type.Object(
  {
    delivery: Delivery,
    sha256: Digest,
    bytes: Count,
    variants: Count,
    findings: Findings,
    unchanged: Type.Optional(
      Type.Boolean({
        description: 'In the answer to a new delivery. True: nothing changed, and the last delivery stands',
      }),
    ),
    ...recordFields,
    ...urls,
    job: Type.Optional({ ...Url, description: 'In the answer to a new delivery: the job that makes the asked forms' }),
    files: Type.Array(DeliveryFile, {
      description: 'The files of the delivery. Each variant also has an address of its own: `…/variants/{variant}.glb`',
    }),
  },
  strict,
);
export type DeliveryAnswer = ReadonlyStatic<typeof DeliveryAnswer>;

export const DeliveryListAnswer = Type.Object(
  {
    next: Next,
    deliveries: Type.Array(
      Type.Object(
        {
          delivery: Delivery,
          sha256: Digest,
          bytes: Count,
          variants: Count,
          createdAt: Time,
          ...recordFields,
          ...urls,
        },
        strict,
      ),
      { description: 'Newest first' },
    ),
  },
  strict,
);
export type DeliveryListAnswer = ReadonlyStatic<typeof DeliveryListAnswer>;

const Names = Type.Enum(['name', 'code']);

export const PendingQuery = Type.Object(
  {
    names: Type.Optional({
      ...Names,
      description: 'Names of the variants in the next file; as in the last delivery when left out',
    }),
  },
  strict,
);
export type PendingQuery = Static<typeof PendingQuery>;

export const ChangesQuery = Type.Object(
  {
    since: Type.Optional(
      Type.String({
        pattern: '^[1-9][0-9]{0,8}$',
        description: 'Number of the delivery to compare with; the one before when left out',
      }),
    ),
  },
  strict,
);
export type ChangesQuery = Static<typeof ChangesQuery>;

const DeliveryChange = Type.Object(
  {
    kind: Type.Enum([...DELIVERY_CHANGE_KINDS], { description: 'Stable: programs can rely on it' }),
    variant: Type.Optional(Code),
    slot: Type.Optional(Key),
    finish: Type.Optional(Code),
    deltaE: Type.Optional(Type.Number({ description: 'ΔE00 between the delivered colours' })),
    variants: Type.Integer({
      minimum: 0,
      description:
        'How many variants it concerns. The first 100 changes of a kind are listed, and one counts the others',
    }),
    breaking: Type.Optional(
      Type.Boolean({ description: 'True: a shop that selects variants by name must change its settings' }),
    ),
    message: Type.String(),
  },
  strict,
);

export const ChangesAnswer = Type.Object(
  {
    since: nullable(Delivery),
    names: nullable({ ...Names, description: 'Names of the variants in the earlier delivery' }),
    outdated: Type.Boolean({ description: 'True if anything differs; false without a delivery' }),
    variants: Type.Integer({ minimum: 0, description: 'How many variants differ: new, withdrawn, or changed' }),
    changes: Type.Array(DeliveryChange),
    findings: { ...Findings, description: 'Findings that the earlier delivery does not have' },
  },
  strict,
);
export type ChangesAnswer = ReadonlyStatic<typeof ChangesAnswer>;

const variantFields = {
  code: Code,
  name: Type.String(),
  choices: mapOf(Code),
  gtin: Type.Optional(Type.String()),
  sku: Type.Optional(Type.String()),
};
const ManifestVariant = Type.Object(variantFields, strict);

const ManifestFinish = Type.Object(
  {
    finish: Code,
    name: Type.String(),
    revision: Type.Integer({ minimum: 1 }),
    specified: Type.Optional(nullable(ref(ColourSpecification))),
    hex: Hex,
    outOfGamutDeltaE: Type.Number(),
    colourFrom: Type.Optional(Type.Enum([...COLOUR_SOURCES])),
    delivered: Type.Optional(DeliveredColour),
    levelled: Type.Optional(LevelledMap),
    maps: FinishMaps,
    supplied: Type.Optional({ ...Digest, description: 'The supplied material that the file contains' }),
    names: Type.Optional(mapOf(Type.String(), 'Language tag to name')),
    family: Type.Optional(Type.Enum([...FAMILIES])),
    grade: Type.Optional(nullable(Type.String(), 'Price grade in the line')),
    status: Type.Optional(Type.Enum([...RANGE_STATUSES])),
  },
  strict,
);

/** Fields that are optional here are missing in deliveries of earlier versions. */
export const ManifestAnswer = Type.Object(
  {
    format: Type.Literal('dyeworks-manifest/1'),
    program: Type.String({ description: 'Name and version of the program that wrote the file' }),
    product: Code,
    productName: Type.String(),
    delivery: Delivery,
    createdAt: Time,
    ...recordFields,
    file: Type.Object({ sha256: Digest, bytes: Count, mediaType: Type.Literal('model/gltf-binary') }, strict),
    model: Type.Object({ revision: Type.Integer({ minimum: 1 }), sha256: Digest, bytes: Count }, strict),
    names: Type.Enum(['name', 'code']),
    default: Code,
    variants: Type.Array(ManifestVariant),
    finishes: Type.Array(ManifestFinish),
    slots: Type.Array(
      Type.Object(
        {
          slot: Key,
          materialName: Type.String(),
          fixed: Type.Boolean(),
          keep: Keep,
          grainDegrees: Type.Number(),
          directions: Type.Optional(Directions),
        },
        strict,
      ),
    ),
    groups: Type.Optional(
      Type.Array(
        Type.Object(
          {
            slot: Key,
            label: Type.String(),
            position: nullable(Key),
            parts: Type.Array(pairOf(Count), { description: 'Mesh and primitive of each of its parts in the file' }),
          },
          strict,
        ),
        { description: 'Slots at which the file offers several finishes' },
      ),
    ),
    excluded: Type.Optional(
      nullable(
        Type.Array(
          Type.Object(
            {
              slots: pairOf(Key),
              pairs: Type.Array(pairOf(Code), { description: 'A finish of each of the two slots' }),
            },
            strict,
          ),
        ),
        'Finishes that the rules of the line do not allow together. Null: too many to list',
      ),
    ),
    sizes: Type.Object(
      {
        jsonBytes: Count,
        modelBytes: Count,
        addedImageBytes: Count,
        leftOutBytes: Type.Integer({ minimum: 0, description: 'Bytes of unused images, left out of the file' }),
        deadBytes: Type.Integer({ minimum: 0, description: 'Unused bytes that had to stay' }),
        materials: Count,
        images: Count,
      },
      strict,
    ),
    replacedVariants: Type.Array(Type.String(), { description: 'Names of variants that the model arrived with' }),
    checks: Type.Array(
      Type.Object(
        {
          check: Type.String(),
          passed: Type.Boolean(),
          detail: Type.String(),
          errors: Type.Optional(mapOf(Count, 'Errors of the validator: code to count')),
          added: Type.Optional(Type.Integer({ minimum: 0, description: 'Errors that the source model does not have' })),
        },
        strict,
      ),
    ),
    findings: Findings,
    caution: Type.String(),
    shop: Type.Optional(
      Type.Object(
        {
          slots: Type.Array(Type.Object({ slot: Key, label: Type.String() }, strict)),
          nameTemplate: Type.Optional(Type.String()),
          discontinued: Type.Array(Type.Object({ ...variantFields, delivery: Delivery }, strict), {
            description: 'Variants of earlier deliveries that this one does not have, with the last delivery of each',
          }),
          finishes: Type.Array(ManifestFinish, { description: 'Finishes of those that the delivery does not have' }),
        },
        { ...strict, description: 'Facts that only shops need' },
      ),
    ),
  },
  { ...strict, $id: 'Manifest', description: 'The content of the file, and its sources' },
);
export type ManifestAnswer = ReadonlyStatic<typeof ManifestAnswer>;
