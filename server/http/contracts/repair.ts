import { type Static, Type } from 'typebox';
import { Name, nullable, strict } from './common.ts';

/** What a repair takes is told, and checked, by the core: each has settings of its own. */
const Repairs = Type.Array(
  Type.Object(
    { repair: Type.String({ maxLength: 40, description: 'scale, place, merge-parts …' }) },
    { additionalProperties: true },
  ),
  { maxItems: 500, description: 'Repairs in the order they are made; each with its settings' },
);

export const RepairsBody = Type.Object({ repairs: Repairs }, strict);
export type RepairsBody = Static<typeof RepairsBody>;

export const PreparationBody = Type.Object({ steps: Repairs }, strict);
export type PreparationBody = Static<typeof PreparationBody>;

export const PreviewQuery = Type.Object({ preview: Type.Optional(Type.Enum(['0', '1'])) }, strict);
export type PreviewQuery = Static<typeof PreviewQuery>;

export const HoldQuery = Type.Object({ hold: Type.Optional(Type.Enum(['0', '1'])) }, strict);
export type HoldQuery = Static<typeof HoldQuery>;

export const SurveyQuery = Type.Object({ pieces: Type.Optional(Type.Enum(['0', '1'])) }, strict);
export type SurveyQuery = Static<typeof SurveyQuery>;

const Limit = Type.Object(
  { recommended: Type.Integer({ minimum: 1 }), maximum: Type.Optional(nullable(Type.Integer({ minimum: 1 }))) },
  strict,
);
export const BudgetBody = Type.Object(
  {
    label: Name,
    source: Type.Optional(Type.String({ maxLength: 1000 })),
    fileBytes: Limit,
    triangles: Limit,
    draws: Limit,
    texturePx: Type.Integer({ minimum: 1 }),
    jpegQuality: Type.Optional(Type.Integer({ minimum: 1, maximum: 100 })),
  },
  { ...strict, description: 'Beyond what is recommended is a note, beyond a maximum a warning' },
);
export type BudgetBody = Static<typeof BudgetBody>;
