/** Decisions on finishes and variants, each kept for good: `subject` is the folded code, or product and variant. */
export const approvals = /* sql */ `
CREATE TABLE approvals (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  subject TEXT NOT NULL,
  data TEXT NOT NULL
) STRICT;
CREATE INDEX approvals_by_subject ON approvals (subject);
`;
