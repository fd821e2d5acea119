import { type Static, Type } from 'typebox';
import { MOUNTS } from '../../core/picture/picture.ts';
import { CLASSES } from '../../core/product/product.ts';
import { NORMAL_KEEPS } from '../../core/product/slot.ts';
import { Code, Key, Name, nullable, Options, strict } from './common.ts';

const Millimetres = Type.Number({ exclusiveMinimum: 0, maximum: 100_000 });
const Sheet = Type.Object({ widthMm: Millimetres, depthMm: Millimetres, heightMm: Millimetres }, strict);

const productFields = {
  line: Type.Optional(nullable(Code)),
  class: Type.Optional(Type.Enum([...CLASSES])),
  mount: Type.Optional(Type.Enum([...MOUNTS])),
  sheet: Type.Optional(nullable(Sheet)),
  budget: Type.Optional(Type.String({ maxLength: 64, description: 'Name of the budget its model is held against' })),
};

export const ProductBody = Type.Object({ code: Code, name: Name, ...productFields }, strict);
export type ProductBody = Static<typeof ProductBody>;

export const ProductChange = Type.Object({ name: Type.Optional(Name), ...productFields }, strict);
export type ProductChange = Static<typeof ProductChange>;

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
                'Whose normal map is shown: both, baked into one map, or else the one that is named; one of them alone. ' +
                'true is part, false is finish, null follows the model: finish where the part’s own map is flat or an even weave',
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
        description: 'Degrees counter-clockwise for every finish; null follows the part: wood along it, cloth hanging',
      }),
    ),
  },
  strict,
);
export type SlotChangeBody = Static<typeof SlotChangeBody>;

export const ScheduleBody = Type.Object(
  {
    default: Code,
    variants: Type.Array(
      Type.Object(
        {
          code: Code,
          name: Name,
          choices: Type.Record(Type.String({ maxLength: 64 }), Code),
          gtin: Type.Optional(
            Type.String({ maxLength: 64, description: '8, 12, 13 or 14 digits with their check digit; kept as 14' }),
          ),
        },
        strict,
      ),
      { minItems: 1, maxItems: 100_000 },
    ),
  },
  strict,
);
export type ScheduleBody = Static<typeof ScheduleBody>;

export const ExpandBody = Type.Object(
  {
    name: Type.Optional(Type.String({ minLength: 1, maxLength: 400 })),
    slots: Type.Optional(Type.Array(Key, { maxItems: 100 })),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 20_000 })),
  },
  strict,
);
export type ExpandBody = Static<typeof ExpandBody>;

export const RenameBody = Type.Object(
  {
    name: Type.Optional(
      Type.String({ minLength: 1, maxLength: 400, description: 'A slot in braces stands for its finish' }),
    ),
    variants: Type.Optional(Type.Array(Code, { minItems: 1, maxItems: 20_000 })),
    misnamed: Type.Optional(
      Type.Boolean({ description: 'Only variants that are named after a finish they do not have' }),
    ),
  },
  strict,
);
export type RenameBody = Static<typeof RenameBody>;

export const CheckSetBody = Type.Object(
  {
    kind: Type.Optional(Type.Enum(['each-finish', 'pairs'], { description: 'each-finish unless said' })),
    preview: Type.Optional(Type.Boolean({ description: 'Says what would be added and adds nothing' })),
  },
  strict,
);
export type CheckSetBody = Static<typeof CheckSetBody>;

export const CountQuery = Type.Object(
  {
    explain: Type.Optional(
      Type.Enum(['0', '1'], { description: 'Adds what the rules do, and why finishes are in no valid variant' }),
    ),
  },
  strict,
);
export type CountQuery = Static<typeof CountQuery>;

export const DeliveryBody = Type.Object({ names: Type.Optional(Type.Enum(['name', 'code'])) }, strict);
export type DeliveryBody = Static<typeof DeliveryBody>;
