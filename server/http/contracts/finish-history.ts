import { type Static, Type } from 'typebox';
import { EVENTS, WAYS } from '../../core/history/history.ts';
import { ArticleAnswer, FinishDefinition, PastResolvedFinish } from './finish.ts';
import { Code, DeltaE, Hex, Next, nullable, type ReadonlyStatic, ref, strict, Time } from './schema-parts.ts';

const Revision = Type.Integer({ minimum: 1, description: 'A revision, counted from 1' });

export const FinishRevisionParams = Type.Object({ finish: Type.String(), revision: Revision }, strict);
export type FinishRevisionParams = Static<typeof FinishRevisionParams>;

export const ArticleRevisionParams = Type.Object({ article: Type.String(), revision: Revision }, strict);
export type ArticleRevisionParams = Static<typeof ArticleRevisionParams>;

/** Who makes a change, and why. A call may have other headers as well. */
export const AuthorHeaders = Type.Object({
  'dyeworks-person': Type.Optional(
    Type.String({
      maxLength: 2000,
      description:
        'Who makes the change, for the history. UTF-8, percent-encoded as in a URL. Dyeworks stores it as stated and does not verify it',
    }),
  ),
  'dyeworks-note': Type.Optional(
    Type.String({ maxLength: 12_000, description: 'Why the change is made, for the history. Encoded in the same way' }),
  ),
});

const stamp = {
  at: nullable(Time, 'ISO 8601. Null for what was there before Dyeworks kept histories'),
  person: nullable(Type.String(), 'As stated, not verified. Null if not stated'),
  note: Type.Optional(Type.String()),
};

const past = { revision: Revision, how: Type.Enum([...WAYS]), ...stamp };

const revision = {
  ...past,
  starts: Type.Boolean({
    description: 'True if the code was new, or deleted before. Such a revision is not compared with another',
  }),
  changes: Type.Array(
    Type.Object(
      {
        field: Type.String({ description: 'Dotted inside another field: gloss.gu60' }),
        before: Type.Optional(Type.Unknown()),
        after: Type.Optional(Type.Unknown()),
      },
      strict,
    ),
  ),
};

const FinishRevision = Type.Object(
  {
    ...revision,
    hex: { ...Hex, description: 'The colour on screens at that time' },
    deltaE: Type.Optional({ ...DeltaE, description: 'ΔE00 between this specified colour and the one before' }),
  },
  strict,
);
export type FinishRevisionAnswer = ReadonlyStatic<typeof FinishRevision>;

const RevisionEntry = Type.Object(revision, strict);
export type RevisionAnswer = ReadonlyStatic<typeof RevisionEntry>;

export const FinishHistoryAnswer = Type.Object(
  {
    revisions: Type.Array(FinishRevision, { description: 'Newest first' }),
    events: Type.Array(
      Type.Object(
        {
          revision: Revision,
          what: Type.Enum([...EVENTS]),
          ...stamp,
          line: Type.Optional(Code),
          replacedBy: Type.Optional(Code),
        },
        strict,
      ),
      { description: 'Events of these revisions that did not change the finish, newest first' },
    ),
    next: Next,
  },
  strict,
);
export type FinishHistoryAnswer = ReadonlyStatic<typeof FinishHistoryAnswer>;

export const ArticleHistoryAnswer = Type.Object({ revisions: Type.Array(RevisionEntry), next: Next }, strict);
export type ArticleHistoryAnswer = ReadonlyStatic<typeof ArticleHistoryAnswer>;

export const PastFinishAnswer = Type.Object(
  {
    ...past,
    finish: ref(FinishDefinition),
    article: nullable(
      Type.Object({ ...ArticleAnswer.properties, revision: Revision }, strict),
      'Its article at that time. Null without one',
    ),
    resolved: PastResolvedFinish,
  },
  strict,
);
export type PastFinishAnswer = ReadonlyStatic<typeof PastFinishAnswer>;

export const PastArticleAnswer = Type.Object({ ...past, article: ref(ArticleAnswer) }, strict);
export type PastArticleAnswer = ReadonlyStatic<typeof PastArticleAnswer>;
