import { type Static, Type } from 'typebox';
import { FAMILIES, type Family as FamilyName, RANGE_STATUSES } from '../../core/finish/finish.ts';
import { MOUNTS } from '../../core/picture/picture.ts';
import { CLASSES } from '../../core/product/product.ts';
import { NORMAL_KEEPS } from '../../core/product/slot.ts';
import { Verdict } from './finding.ts';
import {
  Code,
  Count,
  Digest,
  Flag,
  Key,
  Name,
  Next,
  nullable,
  Options,
  pageFields,
  type ReadonlyStatic,
  ref,
  strict,
} from './schema-parts.ts';
import { GrainMark, ModelSize } from './survey.ts';

const Millimetres = Type.Number({ exclusiveMinimum: 0, maximum: 100_000 });
const Sheet = Type.Object({ widthMm: Millimetres, depthMm: Millimetres, heightMm: Millimetres }, strict);

const productFields = {
  line: Type.Optional(nullable(Code)),
  class: Type.Optional(Type.Enum([...CLASSES])),
  mount: Type.Optional(Type.Enum([...MOUNTS])),
  sheet: Type.Optional(nullable(Sheet)),
  budget: Type.Optional(Type.String({ maxLength: 64, description: 'Name of the size budget for its model' })),
  skuTemplate: Type.Optional(
    nullable(
      Type.String({ maxLength: 1000 }),
      'Template of the SKUs in the shop data, such as {product}-{seat}. Null: the product and the finishes of its slots',
    ),
  ),
};

export const ProductBody = Type.Object({ code: Code, name: Name, ...productFields }, strict);
export type ProductBody = Static<typeof ProductBody>;

export const ProductChange = Type.Object({ name: Type.Optional(Name), ...productFields }, strict);
export type ProductChange = Static<typeof ProductChange>;

export const ProductAnswer = Type.Object(
  {
    code: Code,
    name: Type.String(),
    line: nullable(Code),
    class: Type.Enum([...CLASSES]),
    mount: Type.Enum([...MOUNTS]),
    sheet: nullable(Sheet, 'Dimensions on the data sheet'),
    budget: Type.String(),
    skuTemplate: Type.Optional(Type.String({ description: 'Missing where the SKUs follow product and finishes' })),
    size: ModelSize,
    model: nullable(Type.Object({ revision: Type.Integer({ minimum: 1 }), sha256: Digest, bytes: Count }, strict)),
    verdict: Verdict,
    variants: Type.Integer({ minimum: 0, description: 'Number of variants in the schedule' }),
    defaultVariant: nullable(Code),
    deliveries: Count,
    outdated: Type.Boolean({
      description:
        'Whether the last delivery differs from the current model, slots, schedule or finishes. False without a delivery',
    }),
    picture: nullable(
      Type.String(),
      'URL path of a picture: of the default variant, or of the model as received. Null without a model',
    ),
  },
  { ...strict, $id: 'Product' },
);
export type ProductAnswer = ReadonlyStatic<typeof ProductAnswer>;

/** Without a limit, a list has so many products. */
export const PRODUCTS_AT_ONCE = 5000;

export const ProductListQuery = Type.Object(
  {
    ...pageFields(PRODUCTS_AT_ONCE),
    q: Type.Optional(
      Type.String({ maxLength: 200, description: 'Words, each of which is part of the code or the name' }),
    ),
    line: Type.Optional(
      Type.Union([Code, Type.Literal('')], {
        description: 'Only products of this line; empty: only those without a line',
      }),
    ),
    attention: Type.Optional({ ...Flag, description: '1: only products that are not ready to deliver' }),
    outdated: Type.Optional({ ...Flag, description: '1: only products whose last delivery is out of date' }),
  },
  strict,
);
export type ProductListQuery = Static<typeof ProductListQuery>;

export const ProductListAnswer = Type.Object({ products: Type.Array(ref(ProductAnswer)), next: Next }, strict);
export type ProductListAnswer = ReadonlyStatic<typeof ProductListAnswer>;

const Amount = Type.Integer({ minimum: 1 });
const Limit = Type.Object({ recommended: Amount, maximum: Type.Optional(nullable(Amount)) }, strict);

export const BudgetBody = Type.Object(
  {
    label: Name,
    source: Type.Optional(Type.String({ maxLength: 1000 })),
    fileBytes: Limit,
    triangles: Limit,
    draws: Limit,
    texturePx: Amount,
    jpegQuality: Type.Optional(Type.Integer({ minimum: 1, maximum: 100 })),
  },
  { ...strict, description: 'More than the recommended amount gives a note. More than the maximum gives a warning' },
);
export type BudgetBody = Static<typeof BudgetBody>;

const StoredLimit = Type.Object(
  { recommended: Amount, maximum: nullable(Amount, 'Null if no source states one') },
  strict,
);

export const BudgetAnswer = Type.Object(
  {
    name: Type.String(),
    label: Type.String(),
    source: Type.String({ description: 'Where the limits come from' }),
    fileBytes: StoredLimit,
    triangles: StoredLimit,
    draws: StoredLimit,
    texturePx: Amount,
    jpegQuality: Type.Integer({ minimum: 1, maximum: 100 }),
  },
  { ...strict, $id: 'Budget' },
);

export const BudgetListAnswer = Type.Object({ budgets: Type.Array(ref(BudgetAnswer)) }, strict);
export type BudgetListAnswer = ReadonlyStatic<typeof BudgetListAnswer>;

export const SlotChangeBody = Type.Object(
  {
    label: Type.Optional(Name),
    position: Type.Optional(nullable(Key)),
    options: Type.Optional(nullable(Options)),
    fixed: Type.Optional(Type.Boolean()),
    keep: Type.Optional(
      Type.Object(
        {
          normal: Type.Optional(
            Type.Union([Type.Boolean(), Type.Enum([...NORMAL_KEEPS]), Type.Null()], {
              description:
                'Which normal map shows. both-or-part and both-or-finish bake both maps into one; if that is not possible, the named one shows. ' +
                'part and finish show one map alone. true means part, false means finish. ' +
                'null follows the model: finish if the part’s own map is flat or an even weave, otherwise part',
            }),
          ),
          occlusion: Type.Optional(Type.Boolean()),
          alpha: Type.Optional(Type.Boolean()),
          detail: Type.Optional(Type.Boolean()),
          wear: Type.Optional(Type.Boolean()),
        },
        strict,
      ),
    ),
    grainDegrees: Type.Optional(
      Type.Union([Type.Number({ minimum: -360, maximum: 360 }), Type.Null()], {
        description:
          'Degrees counter-clockwise, for every finish. null follows the part: wood along it, cloth hanging down',
      }),
    ),
  },
  strict,
);
export type SlotChangeBody = Static<typeof SlotChangeBody>;

/** What belongs to the part and stays when its finish changes. */
export const Keep = Type.Object(
  {
    normal: Type.Union([Type.Boolean(), Type.Enum([...NORMAL_KEEPS])]),
    occlusion: Type.Boolean(),
    alpha: Type.Boolean(),
    detail: Type.Boolean(),
    wear: Type.Boolean(),
  },
  strict,
);

/** Degrees counter-clockwise by family, instead of one direction for all. */
export const Directions = Type.Unsafe<Partial<Record<FamilyName, number>>>({
  type: 'object',
  properties: Object.fromEntries(FAMILIES.map((family) => [family, { type: 'number' }])),
  additionalProperties: false,
});

export const SlotAnswer = Type.Object(
  {
    slot: Key,
    label: Type.String(),
    position: nullable(Key),
    materials: Type.Array(Type.String(), { description: 'Names of its materials' }),
    primitives: Count,
    triangles: Count,
    options: nullable(Options),
    allowed: Type.Array(
      Type.Object({ finish: Code, grade: nullable(Type.String()), status: Type.Enum([...RANGE_STATUSES]) }, strict),
      { description: 'The finishes that the options allow, in the order of the range' },
    ),
    fixed: Type.Boolean(),
    keep: Keep,
    grainDegrees: Type.Number({ description: 'Degrees counter-clockwise' }),
    directions: nullable(
      Directions,
      'Directions by family that follow the part, used instead of grainDegrees. Null once a person sets a direction',
    ),
    normalFrom: Type.Enum(['person', 'model'], {
      description: 'Whether a person set keep.normal, or it follows from the part’s own normal map',
    }),
    proposedGrain: nullable(
      Type.Object(
        {
          grainDegrees: nullable(Type.Number(), 'Null if no single direction fits'),
          confidence: Type.Enum(['clear', 'weak']),
          reason: Type.String(),
        },
        strict,
      ),
      'A direction that a person can take over as grainDegrees',
    ),
    grainMark: GrainMark,
    tag: Type.String({ description: 'For If-Match' }),
  },
  { ...strict, $id: 'Slot' },
);
export type SlotAnswer = ReadonlyStatic<typeof SlotAnswer>;

export const SlotListAnswer = Type.Object({ slots: Type.Array(ref(SlotAnswer)) }, strict);
export type SlotListAnswer = ReadonlyStatic<typeof SlotListAnswer>;
