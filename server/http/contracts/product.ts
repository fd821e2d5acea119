import { type Static, Type } from 'typebox';
import { MOUNTS } from '../../core/picture/picture.ts';
import { CLASSES } from '../../core/product/product.ts';
import { Verdict } from './finding.ts';
import { Code, Count, Digest, Name, nullable, type ReadonlyStatic, ref, strict } from './schema-parts.ts';
import { ModelSize } from './survey.ts';

const Millimetres = Type.Number({ exclusiveMinimum: 0, maximum: 100_000 });
const Sheet = Type.Object({ widthMm: Millimetres, depthMm: Millimetres, heightMm: Millimetres }, strict);

const productFields = {
  line: Type.Optional(nullable(Code)),
  class: Type.Optional(Type.Enum([...CLASSES])),
  mount: Type.Optional(Type.Enum([...MOUNTS])),
  sheet: Type.Optional(nullable(Sheet)),
  budget: Type.Optional(Type.String({ maxLength: 64, description: 'Name of the size budget for its model' })),
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
    size: ModelSize,
    model: nullable(Type.Object({ revision: Type.Integer({ minimum: 1 }), sha256: Digest, bytes: Count }, strict)),
    verdict: Verdict,
    variants: Type.Integer({ minimum: 0, description: 'Number of variants in the schedule' }),
    defaultVariant: nullable(Code),
    deliveries: Count,
    picture: nullable(
      Type.String(),
      'URL path of a picture: of the default variant, or of the model as received. Null without a model',
    ),
  },
  { ...strict, $id: 'Product' },
);
export type ProductAnswer = ReadonlyStatic<typeof ProductAnswer>;

export const ProductListAnswer = Type.Object({ products: Type.Array(ref(ProductAnswer)) }, strict);
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
