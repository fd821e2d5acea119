/**
 * Finishes and articles have a history, which outlives them: `kind` is `finish` or `article`, `code_key` the folded code.
 * What is stored by then is the first revision that is known.
 */
export const history = /* sql */ `
ALTER TABLE articles ADD COLUMN revision INTEGER NOT NULL DEFAULT 1;

CREATE TABLE history (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  kind TEXT NOT NULL,
  code_key TEXT NOT NULL,
  revision INTEGER NOT NULL,
  what TEXT NOT NULL,
  at TEXT,
  person TEXT,
  note TEXT,
  -- the definition from then on; null for what changed none
  data TEXT,
  -- the revision of its article that a finish stood on
  article_revision INTEGER,
  detail TEXT
) STRICT;
CREATE INDEX history_by_code ON history (kind, code_key, ordinal);

INSERT INTO history (kind, code_key, revision, what, data)
  SELECT 'article', article_key, revision, 'known', data FROM articles;
INSERT INTO history (kind, code_key, revision, what, data, article_revision)
  SELECT 'finish', finish_key, finishes.revision, 'known', finishes.data, articles.revision
  FROM finishes LEFT JOIN articles ON articles.article_key = finishes.article_key
  ORDER BY finishes.ordinal;
`;
