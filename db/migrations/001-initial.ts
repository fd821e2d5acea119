/** Codes are kept as given and, in `…_key`, folded to lower case, by which they are unique and referred to. */
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
