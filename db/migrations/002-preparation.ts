/** Revisions know how they came about and which one is current; products have a preparation and a budget. */
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
