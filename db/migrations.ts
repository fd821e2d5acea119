// Never change a released migration. Add another after it. They stay in one file, long as it is, since a reader looks for the
// whole history of a table in one place.

/** Columns named `…_key` have the code folded to lower case. Keys are unique, and other tables refer to them. */
export const initial = /* sql */ `
CREATE TABLE lines (
  line_key TEXT PRIMARY KEY,
  line TEXT NOT NULL,
  name TEXT NOT NULL
) STRICT;

CREATE TABLE line_positions (
  line_key TEXT NOT NULL REFERENCES lines ON DELETE CASCADE,
  position TEXT NOT NULL,
  ordinal INTEGER NOT NULL,
  label TEXT NOT NULL,
  options TEXT,
  PRIMARY KEY (line_key, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE articles (
  article_key TEXT PRIMARY KEY,
  data TEXT NOT NULL
) STRICT;

CREATE TABLE finishes (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  finish_key TEXT NOT NULL UNIQUE,
  article_key TEXT REFERENCES articles,
  revision INTEGER NOT NULL,
  data TEXT NOT NULL
) STRICT;
CREATE INDEX finishes_by_article ON finishes (article_key);

CREATE TABLE line_range (
  line_key TEXT NOT NULL REFERENCES lines ON DELETE CASCADE,
  finish_key TEXT NOT NULL REFERENCES finishes (finish_key),
  ordinal INTEGER NOT NULL,
  grade TEXT,
  status TEXT NOT NULL,
  PRIMARY KEY (line_key, finish_key)
) STRICT, WITHOUT ROWID;
CREATE INDEX line_range_by_finish ON line_range (finish_key);

CREATE TABLE products (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  product_key TEXT NOT NULL UNIQUE,
  code TEXT NOT NULL,
  name TEXT NOT NULL,
  line_key TEXT REFERENCES lines,
  class TEXT NOT NULL,
  mount TEXT NOT NULL,
  sheet TEXT
) STRICT;
CREATE INDEX products_by_line ON products (line_key);

CREATE TABLE models (
  product_key TEXT NOT NULL REFERENCES products (product_key) ON DELETE CASCADE,
  revision INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  received_sha256 TEXT,
  survey TEXT NOT NULL,
  PRIMARY KEY (product_key, revision)
) STRICT, WITHOUT ROWID;

CREATE TABLE slots (
  product_key TEXT NOT NULL REFERENCES products (product_key) ON DELETE CASCADE,
  slot TEXT NOT NULL,
  ordinal INTEGER NOT NULL,
  data TEXT NOT NULL,
  PRIMARY KEY (product_key, slot)
) STRICT, WITHOUT ROWID;

CREATE TABLE schedules (
  product_key TEXT PRIMARY KEY REFERENCES products (product_key) ON DELETE CASCADE,
  tag TEXT NOT NULL,
  data TEXT NOT NULL
) STRICT;

-- which finishes a schedule needs, so that one in use cannot be deleted
CREATE TABLE schedule_uses (
  product_key TEXT NOT NULL REFERENCES schedules ON DELETE CASCADE,
  finish_key TEXT NOT NULL REFERENCES finishes (finish_key),
  variants INTEGER NOT NULL,
  PRIMARY KEY (product_key, finish_key)
) STRICT, WITHOUT ROWID;
CREATE INDEX schedule_uses_by_finish ON schedule_uses (finish_key);

CREATE TABLE deliveries (
  product_key TEXT NOT NULL REFERENCES products (product_key) ON DELETE CASCADE,
  delivery INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  variants INTEGER NOT NULL,
  created_at TEXT NOT NULL,
  manifest TEXT NOT NULL,
  PRIMARY KEY (product_key, delivery)
) STRICT, WITHOUT ROWID;

-- the last numbers given out; they outlive the product, so that an address never comes to mean other bytes
CREATE TABLE counters (
  product_key TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  delivery INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE images (
  sha256 TEXT PRIMARY KEY,
  bytes INTEGER NOT NULL,
  mime_type TEXT NOT NULL,
  width_px INTEGER NOT NULL,
  height_px INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE pictures (
  picture_key TEXT PRIMARY KEY,
  sha256 TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  media_type TEXT NOT NULL,
  used INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX pictures_by_use ON pictures (used);

CREATE TABLE jobs (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,
  state TEXT NOT NULL,
  data TEXT NOT NULL,
  progress TEXT NOT NULL
) STRICT;
CREATE INDEX jobs_by_state ON jobs (state);
`;

/** Revisions have an origin, products a current revision, a preparation and a budget. */
export const preparation = /* sql */ `
ALTER TABLE models ADD COLUMN origin TEXT NOT NULL DEFAULT '{"kind":"received"}';
ALTER TABLE models ADD COLUMN created_at TEXT NOT NULL DEFAULT '';
ALTER TABLE models ADD COLUMN pieces TEXT NOT NULL DEFAULT '[]';
-- where the slots were in this revision when it was current last
ALTER TABLE models ADD COLUMN places TEXT NOT NULL DEFAULT '[]';

ALTER TABLE products ADD COLUMN budget TEXT NOT NULL DEFAULT 'web-catalogue';
ALTER TABLE products ADD COLUMN current_revision INTEGER;
UPDATE products SET current_revision =
  (SELECT max(revision) FROM models WHERE models.product_key = products.product_key);

CREATE TABLE preparations (
  product_key TEXT PRIMARY KEY REFERENCES products (product_key) ON DELETE CASCADE,
  steps TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE budgets (
  budget TEXT PRIMARY KEY,
  data TEXT NOT NULL
) STRICT, WITHOUT ROWID;
`;

/** Lines have rules. A finish of the range may have a last order date and a replacement. */
export const rules = /* sql */ `
ALTER TABLE lines ADD COLUMN rules TEXT NOT NULL DEFAULT '[]';
ALTER TABLE line_range ADD COLUMN last_order TEXT;
ALTER TABLE line_range ADD COLUMN replaced_by TEXT;
`;

/** Approvals of finishes and variants, never deleted. `subject` is the folded code, or product and variant. */
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

/**
 * Finishes and articles have a history, which outlives them: `kind` is `finish` or `article`, `code_key` the folded code.
 * It begins with the definitions that are stored when this migration runs.
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

/** Picture sets that people define, or that replace a template. The templates are in no table. */
export const pictureSets = /* sql */ `
CREATE TABLE picture_sets (
  -- the folded code
  set_key TEXT PRIMARY KEY,
  data TEXT NOT NULL
) STRICT;
`;

/**
 * Measurements of uploaded images. `data` is JSON; `null` for an image that cannot be measured.
 *
 * A finish with a colour map and the colour white took its colour from the map; it now states that. Its white revisions in
 * the history state the same: the finish already looked so, and its colour did not change.
 */
const mapFacts = /* sql */ `
CREATE TABLE map_facts (
  sha256 TEXT PRIMARY KEY,
  -- of the measurement; an image of an earlier one is measured again
  format INTEGER NOT NULL,
  data TEXT NOT NULL
) STRICT;

CREATE TEMPORARY TABLE coloured_by_map AS
  SELECT finish_key
  FROM finishes LEFT JOIN articles ON articles.article_key = finishes.article_key
  WHERE lower(json_extract(finishes.data, '$.colour.hex')) = '#ffffff'
    AND json_extract(finishes.data, '$.supplied') IS NULL
    AND coalesce(json_extract(finishes.data, '$.maps.colour'), json_extract(articles.data, '$.maps.colour')) IS NOT NULL;

UPDATE finishes
  SET data = json_remove(json_set(data, '$.colourFrom', 'map'), '$.colour')
  WHERE finish_key IN (SELECT finish_key FROM coloured_by_map);

UPDATE history
  SET data = json_remove(json_set(data, '$.colourFrom', 'map'), '$.colour')
  WHERE kind = 'finish' AND code_key IN (SELECT finish_key FROM coloured_by_map)
    AND lower(json_extract(data, '$.colour.hex')) = '#ffffff' AND json_extract(data, '$.supplied') IS NULL
    AND coalesce(json_extract(data, '$.maps.colour'), json_extract(data, '$.article')) IS NOT NULL;

DROP TABLE coloured_by_map;
`;

/**
 * `encoding` is JSON: how an image states its colours. Images stored earlier have none and are read as sRGB, as before.
 * Uploading such an image again adds it.
 */
export const imageEncodings = /* sql */ `
ALTER TABLE images ADD COLUMN encoding TEXT;
`;

/**
 * A code that is used again inherits nothing: approvals end with their finish or product, and a new product does not get
 * the jobs of a deleted one. This migration clears what earlier versions left behind. It recognises a product that reuses a
 * code by its first model, whose number is not 1.
 */
const approvalsEnd = /* sql */ `
DELETE FROM approvals WHERE instr(subject, '/') = 0 AND (
  subject NOT IN (SELECT finish_key FROM finishes)
  OR EXISTS (
    SELECT 1 FROM retired_finishes
    WHERE retired_finishes.finish_key = approvals.subject AND retired_finishes.revision >=
      (SELECT max(value) FROM json_each(approvals.data, '$.revisions'))
  )
);

DELETE FROM approvals WHERE instr(subject, '/') > 0 AND (
  substr(subject, 1, instr(subject, '/') - 1) NOT IN (SELECT product_key FROM products)
  OR EXISTS (
    SELECT 1 FROM models
    WHERE models.product_key = substr(approvals.subject, 1, instr(approvals.subject, '/') - 1)
    GROUP BY models.product_key
    HAVING min(models.revision) > 1 AND min(models.created_at) > json_extract(approvals.data, '$.at')
  )
);

UPDATE jobs SET data = json_set(data, '$.productGone', json('true'))
  WHERE json_extract(data, '$.product') IS NOT NULL
  AND lower(json_extract(data, '$.product')) NOT IN (SELECT product_key FROM products);
`;

/** Counts a change of each scope that `scopes` selects, whenever a row of the table is written. */
function countChanges(table: string, events: readonly ('INSERT' | 'UPDATE' | 'DELETE')[], scopes: string): string {
  return events
    .map((event) => {
      const row = event === 'DELETE' ? 'OLD' : 'NEW';
      return `
CREATE TRIGGER ${table}_counts_${event.toLowerCase()} AFTER ${event} ON ${table} BEGIN
  INSERT INTO changes SELECT scope, 1 FROM (${scopes.replaceAll('ROW.', `${row}.`)}) WHERE true
    ON CONFLICT (scope) DO UPDATE SET count = count + 1;
END;`;
    })
    .join('\n');
}

const WRITES = ['INSERT', 'UPDATE', 'DELETE'] as const;
const OF_PRODUCT = "SELECT 'product:' || ROW.product_key AS scope";
const OF_LINE = "SELECT 'line:' || ROW.line_key AS scope";
/** A finish concerns the lines whose range has it, the schedules that use it, and products that may have any finish. */
const ofFinishes = (finishes: string) => `
  SELECT 'finishes' AS scope
  UNION SELECT 'line:' || line_key FROM line_range WHERE finish_key IN (${finishes})
  UNION SELECT 'product:' || product_key FROM schedule_uses WHERE finish_key IN (${finishes})`;

/**
 * What the list of products says of each. A summary holds while its stamp does, which `changes` makes: triggers count there
 * what a summary depends on. So no write can forget to say that it changes a summary.
 */
const productSummaries = /* sql */ `
CREATE TABLE product_summaries (
  product_key TEXT PRIMARY KEY REFERENCES products (product_key) ON DELETE CASCADE,
  stamp TEXT NOT NULL,
  data TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- by scope: one product, one line, \`finishes\` for what may have any finish, \`all\` for every product
CREATE TABLE changes (
  scope TEXT PRIMARY KEY,
  count INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
${[
  ...['products', 'models', 'slots', 'schedules', 'deliveries'].map((table) => countChanges(table, WRITES, OF_PRODUCT)),
  ...['lines', 'line_positions', 'line_range'].map((table) => countChanges(table, WRITES, OF_LINE)),
  countChanges('finishes', WRITES, ofFinishes('ROW.finish_key')),
  countChanges('articles', WRITES, ofFinishes('SELECT finish_key FROM finishes WHERE article_key = ROW.article_key')),
  ...['budgets', 'map_facts'].map((table) => countChanges(table, WRITES, "SELECT 'all' AS scope")),
  countChanges('images', ['UPDATE'], "SELECT 'all' AS scope"),
].join('\n')}
`;

/**
 * People, their sessions and tokens, and the audit. Secrets are stored as digests, passphrases as argon2id hashes. The audit
 * can only grow: its triggers refuse changes, and no two entries can follow the same one.
 */
const people = /* sql */ `
CREATE TABLE people (
  -- the folded sign-in name
  account_key TEXT PRIMARY KEY,
  account TEXT NOT NULL,
  name TEXT NOT NULL,
  name_key TEXT NOT NULL UNIQUE,
  role TEXT NOT NULL,
  passphrase TEXT,
  -- issuer and subject of the sign-in of the house
  house TEXT UNIQUE,
  disabled INTEGER NOT NULL DEFAULT 0,
  created_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE person_lines (
  account_key TEXT NOT NULL REFERENCES people ON DELETE CASCADE,
  -- a later line of the same code inherits no rights
  line_key TEXT NOT NULL REFERENCES lines ON DELETE CASCADE,
  role TEXT NOT NULL,
  PRIMARY KEY (account_key, line_key)
) STRICT, WITHOUT ROWID;
CREATE INDEX person_lines_by_line ON person_lines (line_key);

CREATE TABLE sessions (
  digest TEXT PRIMARY KEY,
  account_key TEXT NOT NULL REFERENCES people ON DELETE CASCADE,
  created_at TEXT NOT NULL,
  used_at TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  address TEXT NOT NULL,
  browser TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX sessions_by_account ON sessions (account_key);

CREATE TABLE api_tokens (
  token TEXT PRIMARY KEY,
  digest TEXT NOT NULL UNIQUE,
  account_key TEXT NOT NULL REFERENCES people ON DELETE CASCADE,
  name TEXT NOT NULL,
  scope TEXT NOT NULL,
  created_at TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  used_at TEXT
) STRICT, WITHOUT ROWID;
CREATE INDEX api_tokens_by_account ON api_tokens (account_key);

CREATE TABLE resets (
  account_key TEXT PRIMARY KEY REFERENCES people ON DELETE CASCADE,
  digest TEXT NOT NULL UNIQUE,
  expires_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE audit (
  entry INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  account_key TEXT,
  record TEXT NOT NULL,
  previous TEXT NOT NULL UNIQUE,
  digest TEXT NOT NULL
) STRICT;
CREATE INDEX audit_by_account ON audit (account_key, entry);
CREATE TRIGGER audit_is_never_changed BEFORE UPDATE ON audit
BEGIN SELECT raise(ABORT, 'the audit can only grow'); END;
CREATE TRIGGER audit_is_never_deleted BEFORE DELETE ON audit
BEGIN SELECT raise(ABORT, 'the audit can only grow'); END;
`;

/** Content files that nothing refers to, and since when (ms as of `Date.now`). They are deleted after a grace time. */
const unusedFiles = /* sql */ `
CREATE TABLE unused_files (
  sha256 TEXT PRIMARY KEY,
  since INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
`;

/** Pictures that only guests have asked for have a limit of their own. */
const guestPictures = `
ALTER TABLE pictures ADD COLUMN guests INTEGER NOT NULL DEFAULT 0;
`;

/**
 * Finishes of an import on their way to their place. A row in `switched_imports` says that they count as stored; `known` is the
 * revision that a finish is based on.
 */
const stagedImports = /* sql */ `
CREATE TABLE staged_finishes (
  ordinal INTEGER PRIMARY KEY AUTOINCREMENT,
  finish_key TEXT NOT NULL,
  article_key TEXT,
  revision INTEGER NOT NULL,
  data TEXT NOT NULL,
  known INTEGER
) STRICT;
CREATE TABLE switched_imports (
  change TEXT NOT NULL
) STRICT;
`;

/** Finishes of each delivery. A finish may be deleted later, so its key refers to nothing. */
const deliveryUses = /* sql */ `
CREATE TABLE delivery_uses (
  product_key TEXT NOT NULL,
  delivery INTEGER NOT NULL,
  finish_key TEXT NOT NULL,
  PRIMARY KEY (finish_key, product_key, delivery),
  FOREIGN KEY (product_key, delivery) REFERENCES deliveries ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE INDEX delivery_uses_by_delivery ON delivery_uses (product_key, delivery);
INSERT OR IGNORE INTO delivery_uses (product_key, delivery, finish_key)
SELECT product_key, delivery, lower(json_extract(listed.value, '$.finish'))
FROM deliveries, json_each(deliveries.manifest, '$.finishes') AS listed;
`;

/** The note of a delivery, and its withdrawal as JSON; the manifest stays as it was written. */
const deliveryRecords = /* sql */ `
ALTER TABLE deliveries ADD COLUMN note TEXT;
ALTER TABLE deliveries ADD COLUMN withdrawn TEXT;
`;

/**
 * The SKUs that deliveries have sent out, and the choice of finishes that each belongs to for good. They outlive their product,
 * since orders may name them.
 */
const skus = /* sql */ `
ALTER TABLE products ADD COLUMN sku_template TEXT;
CREATE TABLE sent_skus (
  sku_key TEXT PRIMARY KEY,
  sku TEXT NOT NULL,
  product_key TEXT NOT NULL,
  choice TEXT NOT NULL,
  UNIQUE (product_key, choice)
) STRICT, WITHOUT ROWID;
`;

/**
 * Files of a delivery beside its model, by their path below the delivery. `stored`: the digest is of a content file; otherwise the
 * bytes come from the model each time, and digest and length are only remembered.
 */
const deliveryFiles = /* sql */ `
CREATE TABLE delivery_files (
  product_key TEXT NOT NULL,
  delivery INTEGER NOT NULL,
  form TEXT NOT NULL,
  stored INTEGER NOT NULL,
  sha256 TEXT,
  bytes INTEGER,
  media_type TEXT NOT NULL,
  details TEXT NOT NULL,
  PRIMARY KEY (product_key, delivery, form),
  FOREIGN KEY (product_key, delivery) REFERENCES deliveries ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
`;

/** Codes of all variants that a product has ever delivered, so that nobody reads whole manifests for them. */
const deliveredCodes = /* sql */ `
CREATE TABLE delivered_codes (
  product_key TEXT NOT NULL REFERENCES products (product_key) ON DELETE CASCADE,
  code TEXT NOT NULL,
  PRIMARY KEY (product_key, code)
) STRICT, WITHOUT ROWID;
INSERT OR IGNORE INTO delivered_codes (product_key, code)
SELECT product_key, json_extract(listed.value, '$.code')
FROM deliveries, json_each(deliveries.manifest, '$.variants') AS listed;
`;

/**
 * Imports of archives, and the entries about the imported line that the audit of its earlier store has. Those are in no chain
 * of this store, but each keeps its digest.
 */
const archiveImports = /* sql */ `
CREATE TABLE archive_imports (
  import INTEGER PRIMARY KEY AUTOINCREMENT,
  at TEXT NOT NULL,
  person TEXT,
  source TEXT NOT NULL,
  entries TEXT NOT NULL
) STRICT;
CREATE TABLE imported_audit (
  import INTEGER NOT NULL REFERENCES archive_imports,
  entry INTEGER NOT NULL,
  at TEXT NOT NULL,
  account_key TEXT,
  record TEXT NOT NULL,
  previous TEXT NOT NULL,
  digest TEXT NOT NULL UNIQUE,
  PRIMARY KEY (import, entry)
) STRICT, WITHOUT ROWID;
`;

/** The order of a range, so that a long one is read in parts. */
const rangeOrder = /* sql */ `
CREATE INDEX line_range_by_order ON line_range (line_key, ordinal, finish_key);
`;

/** All migrations in order, by name. */
export const MIGRATIONS: Readonly<Record<string, string>> = {
  '001-initial': initial,
  '002-preparation': preparation,
  '003-rules': rules,
  '004-approvals': approvals,
  '005-history': history,
  '006-picture-sets': pictureSets,
  '007-map-facts': mapFacts,
  '008-image-encodings': imageEncodings,
  '009-approvals-end': approvalsEnd,
  '010-product-summaries': productSummaries,
  '011-people': people,
  '012-unused-files': unusedFiles,
  '013-guest-pictures': guestPictures,
  '014-staged-imports': stagedImports,
  '015-delivery-uses': deliveryUses,
  '016-delivery-files': deliveryFiles,
  '017-delivery-records': deliveryRecords,
  '018-delivered-codes': deliveredCodes,
  '019-skus': skus,
  '020-archive-imports': archiveImports,
  '021-range-order': rangeOrder,
};
