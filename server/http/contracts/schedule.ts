import { type Static, Type } from 'typebox';
import { Findings } from './finding.ts';
import {
  Code,
  Count,
  Flag,
  Key,
  mapOf,
  Name,
  nullable,
  type ReadonlyStatic,
  recordOf,
  strict,
} from './schema-parts.ts';

/** The core explains which slots a product has, so other keys of a sensible length are its affair. */
const SLOT = '^[^\\u0000]{1,64}$';
/** Choices of one variant: more than any model has materials. */
const CHOICES = 10_000;

const template = Type.Object(
  {
    name: Type.Optional(
      Type.String({ maxLength: 400, description: 'A slot in braces stands for the name of its finish' }),
    ),
    code: Type.Optional(
      Type.String({ maxLength: 400, description: 'A slot in braces stands for the code of its finish' }),
    ),
  },
  { ...strict, description: 'Templates of the names and codes of new variants' },
);

export const ScheduleBody = Type.Object(
  {
    default: Code,
    template: Type.Optional(nullable(template, 'Left out, the schedule keeps the template it has; null removes it')),
    variants: Type.Array(
      Type.Object(
        {
          code: Code,
          name: Name,
          choices: recordOf(SLOT, Code, CHOICES, 'Slot key to finish code'),
          gtin: Type.Optional(
            Type.String({
              maxLength: 64,
              description: '8, 12, 13 or 14 digits with the check digit. Stored with 14 digits',
            }),
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
      Type.String({
        minLength: 1,
        maxLength: 400,
        description: 'Template. A slot in braces stands for the name of its finish',
      }),
    ),
    variants: Type.Optional(Type.Array(Code, { minItems: 1, maxItems: 20_000 })),
    misnamed: Type.Optional(
      Type.Boolean({ description: 'Only variants whose name mentions a finish that they do not have' }),
    ),
  },
  strict,
);
export type RenameBody = Static<typeof RenameBody>;

export const CheckSetKind = Type.Enum(['each-finish', 'pairs']);

export const CheckSetBody = Type.Object(
  {
    kind: Type.Optional({ ...CheckSetKind, description: 'Default each-finish' }),
    preview: Type.Optional(Type.Boolean({ description: 'Shows what would be added, without adding it' })),
  },
  strict,
);
export type CheckSetBody = Static<typeof CheckSetBody>;

export const CountQuery = Type.Object(
  {
    explain: Type.Optional({
      ...Flag,
      description: '1: also explain what the rules do, and why some finishes are in no valid variant',
    }),
  },
  strict,
);
export type CountQuery = Static<typeof CountQuery>;

const schedule = {
  default: Type.String({ description: 'Code of the variant that viewers show first' }),
  variants: Type.Array(
    Type.Object(
      {
        code: Code,
        name: Type.String(),
        choices: mapOf(Code, 'Slot key to finish code'),
        gtin: Type.Optional(Type.String({ pattern: '^\\d{14}$' })),
      },
      strict,
    ),
  ),
  template: Type.Optional(template),
  findings: Findings,
};

/** The ETag of the answer goes back as If-Match. */
export const ScheduleAnswer = Type.Object(schedule, strict);
export type ScheduleAnswer = ReadonlyStatic<typeof ScheduleAnswer>;

export const ExpandAnswer = Type.Object({ ...schedule, added: Count, total: Count }, strict);
export type ExpandAnswer = ReadonlyStatic<typeof ExpandAnswer>;

const checkSet = {
  added: Count,
  standing: Type.Integer({
    minimum: 0,
    description: 'Valid rows that were in the schedule before. They count as shown',
  }),
  finishes: Type.Optional(Type.Integer({ minimum: 0, description: 'Finishes that the schedule now shows' })),
  pairs: Type.Optional(Type.Integer({ minimum: 0, description: 'Pairs of finishes that the schedule now shows' })),
  impossible: Type.Integer({ minimum: 0, description: 'Finishes or pairs that no valid combination contains' }),
  unsettled: Type.Integer({ minimum: 0, description: 'Of these, the search stopped before it was certain' }),
  bound: Type.Integer({ minimum: 0, description: 'Without rules, no set has fewer rows' }),
};
const CheckSetFigures = Type.Object(checkSet, strict);
export type CheckSetFigures = ReadonlyStatic<typeof CheckSetFigures>;

export const CheckSetAnswer = Type.Object({ ...schedule, ...checkSet }, strict);
export type CheckSetAnswer = ReadonlyStatic<typeof CheckSetAnswer>;

export const CheckSetPreview = Type.Object({ ...checkSet, preview: Type.Literal(true) }, strict);
export type CheckSetPreview = ReadonlyStatic<typeof CheckSetPreview>;

const Total = Type.Union([Count, Type.String({ pattern: '^\\d+$' })], {
  description: 'A decimal string above 2^53',
});
const effects = Type.Optional(
  Type.Object(
    {
      unruled: Total,
      binding: Type.Array(Count, { description: 'Rules that connect two of its slots, by their place in the line' }),
      breaking: Type.Integer({ minimum: 0, description: 'Rows of the schedule that break a rule' }),
      none: nullable(Type.String(), 'Why no valid combination exists. Null if one does'),
      impossible: Type.Array(
        Type.Object({ slot: Key, label: Type.String(), finish: Code, because: Type.String() }, strict),
      ),
      more: Count,
    },
    { ...strict, description: 'With explain=1: what the rules do' },
  ),
);

export const CountAnswer = Type.Union([
  Type.Object({ count: Total, exact: Type.Literal(true), effects }, strict),
  Type.Object(
    { lower: Total, upper: Total, exact: Type.Literal(false), effects },
    { ...strict, description: 'Bounds: the count reached its work limit' },
  ),
]);
export type CountAnswer = ReadonlyStatic<typeof CountAnswer>;
