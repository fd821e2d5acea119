import type { Database } from 'better-sqlite3';
import { initial } from './migrations/001-initial.ts';
import { preparation } from './migrations/002-preparation.ts';
import { rules } from './migrations/003-rules.ts';
import { approvals } from './migrations/004-approvals.ts';
import { history } from './migrations/005-history.ts';
import { pictureSets } from './migrations/006-picture-sets.ts';
import { mapFacts } from './migrations/007-map-facts.ts';
import { imageEncodings } from './migrations/008-image-encodings.ts';
import { approvalsEnd } from './migrations/009-approvals-end.ts';

/** In order; a migration that has been released is never changed, only followed by another. */
const MIGRATIONS: readonly string[] = [
  initial,
  preparation,
  rules,
  approvals,
  history,
  pictureSets,
  mapFacts,
  imageEncodings,
  approvalsEnd,
];

/**
 * Runs the migrations the file has not seen, each in a transaction of its own; `user_version` counts them.
 * A file from a newer Dyeworks is refused rather than guessed at.
 */
export function migrate(sqlite: Database): void {
  const version = sqlite.pragma('user_version', { simple: true }) as number;
  if (version > MIGRATIONS.length) {
    throw new Error(
      `The database is of version ${version}; this Dyeworks knows versions up to ${MIGRATIONS.length}. Start a newer one.`,
    );
  }
  for (let next = version; next < MIGRATIONS.length; next++) {
    sqlite.transaction(() => {
      sqlite.exec(MIGRATIONS[next]!);
      sqlite.pragma(`user_version = ${next + 1}`);
    })();
  }
}
