import { type Static, Type } from 'typebox';
import { RANGE_STATUSES } from '../../core/finish/finish.ts';
import { Code, Family, Key, Name, Options, strict } from './common.ts';

const Grade = Type.String({ minLength: 1, maxLength: 32 });

const Place = Type.Object(
  {
    position: Key,
    finish: Type.Optional(Code),
    family: Type.Optional(Family),
    tag: Type.Optional(Type.String({ minLength: 1, maxLength: 64 })),
    grade: Type.Optional(Grade),
  },
  { ...strict, description: 'Finishes at a position, named in one way; the position alone means any' },
);

const Position = Type.Object({ position: Key }, strict);

/** Which one of the four a rule says is looked at by the core, which says more than a union of schemas can. */
const Rule = Type.Object(
  {
    when: Place,
    excludes: Type.Optional(Place),
    requires: Type.Optional(Place),
    sameAs: Type.Optional(Position),
    companion: Type.Optional(Position),
  },
  { ...strict, description: 'when, and one of excludes, requires, sameAs, companion' },
);

const Rules = Type.Array(Rule, { maxItems: 2000 });

export const RulesBody = Type.Object({ rules: Rules }, strict);
export type RulesBody = Static<typeof RulesBody>;

export const DiscontinueBody = Type.Object(
  {
    finish: Code,
    replacedBy: Type.Optional(Code),
    preview: Type.Optional(Type.Boolean({ description: 'Says what would be done and does nothing' })),
  },
  strict,
);
export type DiscontinueBody = Static<typeof DiscontinueBody>;

export const LineBody = Type.Object(
  {
    name: Name,
    positions: Type.Optional(
      Type.Array(Type.Object({ position: Key, label: Name, options: Type.Optional(Options) }, strict), {
        maxItems: 200,
      }),
    ),
    range: Type.Optional(
      Type.Array(
        Type.Object(
          {
            finish: Code,
            grade: Type.Optional(Grade),
            status: Type.Optional(Type.Enum([...RANGE_STATUSES])),
            lastOrder: Type.Optional(Type.String({ maxLength: 40, description: 'yyyy-mm-dd' })),
            replacedBy: Type.Optional(Code),
          },
          strict,
        ),
        { maxItems: 50_000 },
      ),
    ),
    rules: Type.Optional(Rules),
  },
  strict,
);
export type LineBody = Static<typeof LineBody>;
