/** Decisions on finishes and variants, each kept for good: `subject` is the folded code, or product and variant. */
export const approvals = /* sql */ `
CREATE TABLE approvals (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  subject TEXT NOT NULL,
  data TEXT NOT NULL
) STRICT;
-- the last revision of finishes that were deleted, so that another under the same code does not inherit their approvals
CREATE TABLE retired_finishes (
  finish_key TEXT PRIMARY KEY,
  revision INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX approvals_by_subject ON approvals (subject);
`;
