import { type Static, Type } from 'typebox';
import { RANGE_STATUSES } from '../../core/finish/finish.ts';
import {
  Code,
  Count,
  Family,
  Key,
  mapOf,
  Name,
  nullable,
  Options,
  type ReadonlyStatic,
  ref,
  strict,
} from './schema-parts.ts';

const Grade = Type.String({ minLength: 1, maxLength: 32 });

const Place = Type.Object(
  {
    position: Key,
    finish: Type.Optional(Code),
    family: Type.Optional(Family),
    tag: Type.Optional(Type.String({ minLength: 1, maxLength: 64 })),
    grade: Type.Optional(Grade),
  },
  { ...strict, description: 'Finishes at a position, selected in one way. The position alone selects all of them' },
);

const Position = Type.Object({ position: Key }, strict);

/** The core checks that a rule has exactly one of the four kinds: it explains that better than a union of schemas can. */
const GivenRule = Type.Object(
  {
    when: Place,
    excludes: Type.Optional(Place),
    requires: Type.Optional(Place),
    sameAs: Type.Optional(Position),
    companion: Type.Optional(Position),
  },
  { ...strict, description: 'when, and one of excludes, requires, sameAs, companion' },
);

const GivenRules = Type.Array(GivenRule, { maxItems: 2000 });

export const RulesBody = Type.Object({ rules: GivenRules }, strict);
export type RulesBody = Static<typeof RulesBody>;

export const DiscontinueBody = Type.Object(
  {
    finish: Code,
    replacedBy: Type.Optional(Code),
    preview: Type.Optional(Type.Boolean({ description: 'Shows what would change, without changing it' })),
  },
  strict,
);
export type DiscontinueBody = Static<typeof DiscontinueBody>;

const rangeEntry = {
  finish: Code,
  grade: Type.Optional(Grade),
  status: Type.Enum([...RANGE_STATUSES]),
  lastOrder: Type.Optional(Type.String({ maxLength: 40, description: 'Last day for orders, yyyy-mm-dd' })),
  replacedBy: Type.Optional(Code),
};

export const LineBody = Type.Object(
  {
    name: Name,
    positions: Type.Optional(
      Type.Array(Type.Object({ position: Key, label: Name, options: Type.Optional(Options) }, strict), {
        maxItems: 200,
      }),
    ),
    range: Type.Optional(
      Type.Array(Type.Object({ ...rangeEntry, status: Type.Optional(rangeEntry.status) }, strict), {
        maxItems: 50_000,
      }),
    ),
    rules: Type.Optional(GivenRules),
  },
  strict,
);
export type LineBody = Static<typeof LineBody>;

const RangeEntry = Type.Object(rangeEntry, strict);

export const Rule = Type.Union(
  [
    Type.Object({ when: Place, excludes: Place }, strict),
    Type.Object({ when: Place, requires: Place }, strict),
    Type.Object({ when: Place, sameAs: Position }, strict),
    Type.Object({ when: Place, companion: Position }, strict),
  ],
  { $id: 'Rule' },
);
const Rules = Type.Array(ref(Rule));

const line = {
  line: Code,
  name: Type.String(),
  positions: Type.Array(Type.Object({ position: Key, label: Type.String(), options: Type.Optional(Options) }, strict)),
  range: Type.Array(RangeEntry, { description: 'In the maker’s order' }),
  rules: Rules,
};

/** The ETag of the answer goes back as If-Match. */
export const LineAnswer = Type.Object(line, strict);
export type LineAnswer = ReadonlyStatic<typeof LineAnswer>;

export const LineListAnswer = Type.Object(
  { lines: Type.Array(Type.Object({ ...line, products: Type.Array(Code) }, strict)) },
  strict,
);
export type LineListAnswer = ReadonlyStatic<typeof LineListAnswer>;

export const RulesAnswer = Type.Object(
  { rules: Rules, words: Type.Array(Type.String(), { description: 'Each rule as a sentence' }) },
  strict,
);
export type RulesAnswer = ReadonlyStatic<typeof RulesAnswer>;

/** What stopping a finish changes, or in a preview would change. */
export const DiscontinueAnswer = Type.Object(
  {
    preview: Type.Boolean(),
    line: Code,
    finish: Code,
    replacedBy: nullable(Code),
    range: Type.Object({ from: RangeEntry, to: RangeEntry }, strict),
    products: Type.Array(
      Type.Object(
        {
          product: Code,
          withdrawn: Type.Array(
            Type.Object(
              {
                code: Code,
                name: Type.String(),
                reason: Type.Enum(['no-replacement', 'not-an-option', 'rule', 'stands-already']),
                detail: Type.String(),
              },
              strict,
            ),
          ),
          reminted: Type.Array(
            Type.Object({ from: Code, to: Code, name: Type.String(), choices: mapOf(Code) }, strict),
            { description: 'Variants that continue under a new code' },
          ),
          default: nullable(Type.Object({ from: Code, to: Code }, strict), 'Null if the default stays'),
          variants: Type.Integer({ minimum: 0, description: 'Number of variants afterwards' }),
        },
        strict,
      ),
      { description: 'Products whose schedule changes' },
    ),
    deliveriesDue: Type.Array(Type.Object({ product: Code, delivery: Count }, strict), {
      description: 'Products whose latest delivery contains the finish, or variants that change',
    }),
    picturesDue: Type.Array(Type.Object({ product: Code, variants: Type.Array(Code) }, strict), {
      description: 'Variants that have no picture yet',
    }),
  },
  strict,
);
export type DiscontinueAnswer = ReadonlyStatic<typeof DiscontinueAnswer>;

/** Everything that uses a finish. */
export const WhereUsedAnswer = Type.Object(
  {
    finish: Code,
    lines: Type.Array(
      Type.Object(
        {
          line: Code,
          name: Type.String(),
          status: nullable(Type.Enum([...RANGE_STATUSES]), 'Null if the range does not contain the finish'),
          positions: Type.Array(Key, { description: 'Positions whose options name the finish' }),
          rules: Type.Array(Type.String(), { description: 'Rules that name the finish, as sentences' }),
          replaces: Type.Array(Code, { description: 'Finishes that it replaces in the range' }),
        },
        strict,
      ),
    ),
    schedules: Type.Array(Type.Object({ product: Code, variants: Count }, strict)),
    deliveries: Type.Array(Type.Object({ product: Code, delivery: Count }, strict)),
    companionOf: Type.Array(
      Type.Object({ finish: Type.Optional(Code), article: Type.Optional(Code), positions: Type.Array(Key) }, strict),
      { description: 'Finishes and articles that have it as a companion' },
    ),
  },
  strict,
);
export type WhereUsedAnswer = ReadonlyStatic<typeof WhereUsedAnswer>;
