import type { Tables } from '../tables.ts';

/**
 * Rows of each table that belong to a line, as a condition. The exporter has made the temporary tables `chosen_lines`,
 * `chosen_products`, `chosen_finishes`, `chosen_articles` and `chosen_files` before.
 */
const OF_LINE = 'line_key IN (SELECT line_key FROM chosen_lines)';
const OF_PRODUCTS = 'product_key IN (SELECT product_key FROM chosen_products)';
const OF_FILES = 'sha256 IN (SELECT sha256 FROM chosen_files)';

/** Tables of an archive, in an order in which each comes after those that it refers to. `chosen_files` is made before `images`. */
export const ARCHIVED: Readonly<Partial<Record<keyof Tables, string>>> = {
  lines: OF_LINE,
  articles: 'article_key IN (SELECT article_key FROM chosen_articles)',
  finishes: 'finish_key IN (SELECT finish_key FROM chosen_finishes)',
  line_positions: OF_LINE,
  line_range: OF_LINE,
  products: OF_LINE,
  models: OF_PRODUCTS,
  slots: OF_PRODUCTS,
  schedules: OF_PRODUCTS,
  schedule_uses: OF_PRODUCTS,
  preparations: OF_PRODUCTS,
  deliveries: OF_PRODUCTS,
  delivery_uses: OF_PRODUCTS,
  delivery_files: OF_PRODUCTS,
  delivered_codes: OF_PRODUCTS,
  counters: OF_PRODUCTS,
  sent_skus: OF_PRODUCTS,
  budgets: `budget IN (SELECT budget FROM products WHERE ${OF_LINE})`,
  // sets belong to no line; those that people have defined are few
  picture_sets: 'TRUE',
  approvals: `subject IN (SELECT finish_key FROM chosen_finishes) OR (instr(subject, '/') > 0
    AND substr(subject, 1, instr(subject, '/') - 1) IN (SELECT product_key FROM chosen_products))`,
  history: `(kind = 'finish' AND code_key IN (SELECT finish_key FROM chosen_finishes))
    OR (kind = 'article' AND code_key IN (SELECT article_key FROM chosen_articles))`,
  audit: `lower(json_extract(record, '$.about.line')) IN (SELECT line_key FROM chosen_lines)
    OR lower(json_extract(record, '$.about.product')) IN (SELECT product_key FROM chosen_products)`,
  images: OF_FILES,
  map_facts: OF_FILES,
};

/** Tables that an archive leaves out, and why. A table is in one of the two lists, or a test fails. */
export const LEFT_OUT: Readonly<Partial<Record<keyof Tables, string>>> = {
  product_summaries: 'computed again',
  changes: 'counts of this database',
  unused_files: 'of the sweep of this folder',
  pictures: 'made again from the same models and finishes',
  jobs: 'work of this service',
  staged_finishes: 'imports under way; they are in their place before an export begins, or not stored yet',
  switched_imports: 'imports under way',
  retired_finishes: 'about codes that this store has used',
  people: 'people of this house',
  person_lines: 'rights of this house',
  sessions: 'people of this house',
  api_tokens: 'people of this house',
  resets: 'people of this house',
  archive_imports: 'what this store has imported',
  imported_audit: 'the audits of others stay where they were imported first',
};
