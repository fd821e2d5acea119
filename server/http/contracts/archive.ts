import { Type } from 'typebox';
import { ARCHIVE_KINDS, DECISIONS, DIFFERENCES } from '../../core/archive/archive.ts';
import { Digest, Flag, nullable, type ReadonlyStatic, strict, Time } from './schema-parts.ts';

const decision = (of: string) =>
  Type.Optional(
    Type.Enum([...DECISIONS], {
      description: `Where ${of} exists already and differs: keep it, or replace it by the archive’s`,
    }),
  );

export const ArchiveQuery = Type.Object(
  {
    dryRun: Type.Optional({ ...Flag, description: '1: only list what the import would do' }),
    line: decision('the line'),
    product: decision('a product'),
    finish: decision('a finish'),
    article: decision('an article'),
    budget: decision('a size budget'),
    'picture-set': decision('a picture set'),
  },
  strict,
);
export type ArchiveQuery = ReadonlyStatic<typeof ArchiveQuery>;

const Entries = Type.Array(
  Type.Object(
    {
      kind: Type.Enum([...ARCHIVE_KINDS]),
      code: Type.String(),
      state: Type.Enum(['new', 'same', 'conflict']),
      differs: Type.Array(Type.Enum([...DIFFERENCES]), { description: 'Parts that differ' }),
      replaceable: Type.Boolean({
        description:
          'False where replacing would change delivered files or stored models, or a product of another line',
      }),
      outcome: Type.Enum(['create', 'none', 'keep', 'replace', 'undecided']),
    },
    strict,
  ),
);

export const ArchiveReport = Type.Object(
  {
    line: Type.String(),
    at: { ...Time, description: 'When the line was exported' },
    version: Type.String({ description: 'Of the program that exported it' }),
    changed: Type.Boolean({ description: 'Whether something is stored now that was not before. False for a dry run' }),
    entries: Entries,
  },
  strict,
);
export type ArchiveReport = ReadonlyStatic<typeof ArchiveReport>;

export const ArchiveImportsAnswer = Type.Object(
  {
    imports: Type.Array(
      Type.Object(
        {
          import: Type.Integer({ minimum: 1 }),
          at: Time,
          person: nullable(Type.String()),
          source: Type.Object({ line: Type.String(), at: Time, version: Type.String(), sha256: Digest }, strict),
          entries: Entries,
        },
        strict,
      ),
      { description: 'The latest first' },
    ),
  },
  strict,
);
export type ArchiveImportsAnswer = ReadonlyStatic<typeof ArchiveImportsAnswer>;
