import type { Generated } from 'kysely';

interface AuditRow {
  entry: number;
  at: string;
  account_key: string | null;
  record: string;
  previous: string;
  digest: string;
}

/** The tables after all migrations; JSON columns are text. */
export interface Tables {
  lines: { line_key: string; line: string; name: string; rules: Generated<string> };
  line_positions: { line_key: string; position: string; ordinal: number; label: string; options: string | null };
  articles: { article_key: string; data: string; revision: Generated<number> };
  finishes: {
    ordinal: Generated<number>;
    finish_key: string;
    article_key: string | null;
    revision: number;
    data: string;
  };
  line_range: {
    line_key: string;
    finish_key: string;
    ordinal: number;
    grade: string | null;
    status: string;
    last_order: string | null;
    replaced_by: string | null;
  };
  products: {
    ordinal: Generated<number>;
    product_key: string;
    code: string;
    name: string;
    line_key: string | null;
    class: string;
    mount: string;
    sheet: string | null;
    budget: Generated<string>;
    sku_template: Generated<string | null>;
    current_revision: Generated<number | null>;
  };
  product_summaries: { product_key: string; stamp: string; data: string };
  changes: { scope: string; count: number };
  models: {
    product_key: string;
    revision: number;
    sha256: string;
    bytes: number;
    received_sha256: string | null;
    survey: string;
    origin: string;
    created_at: string;
    pieces: string;
    places: Generated<string>;
  };
  slots: { product_key: string; slot: string; ordinal: number; data: string };
  schedules: { product_key: string; tag: string; data: string };
  schedule_uses: { product_key: string; finish_key: string; variants: number };
  deliveries: {
    product_key: string;
    delivery: number;
    sha256: string;
    bytes: number;
    variants: number;
    created_at: string;
    manifest: string;
    note: Generated<string | null>;
    withdrawn: Generated<string | null>;
  };
  /** Finishes of each delivery, so that *where-used* reads no manifests. */
  delivery_uses: {
    product_key: string;
    delivery: number;
    finish_key: string;
  };
  /** Codes of all variants that a product has ever delivered. */
  delivered_codes: { product_key: string; code: string };
  delivery_files: {
    product_key: string;
    delivery: number;
    form: string;
    stored: number;
    sha256: string | null;
    bytes: number | null;
    media_type: string;
    details: string;
  };
  /** SKUs that were sent out, and what for. They outlive their product. */
  sent_skus: { sku_key: string; sku: string; product_key: string; choice: string };
  images: {
    sha256: string;
    bytes: number;
    mime_type: string;
    width_px: number;
    height_px: number;
    encoding: string | null;
  };
  unused_files: { sha256: string; since: number };
  map_facts: { sha256: string; format: number; data: string };
  pictures: {
    picture_key: string;
    sha256: string;
    bytes: number;
    media_type: string;
    used: number;
    /** 1 for one that only guests have asked for. */
    guests: Generated<number>;
  };
  picture_sets: { set_key: string; data: string };
  jobs: { ordinal: Generated<number>; id: string; state: string; data: string; progress: string };
  preparations: { product_key: string; steps: string };
  budgets: { budget: string; data: string };
  approvals: { ordinal: Generated<number>; subject: string; data: string };
  staged_finishes: {
    ordinal: Generated<number>;
    finish_key: string;
    article_key: string | null;
    revision: number;
    data: string;
    known: number | null;
  };
  switched_imports: { change: string };
  retired_finishes: { finish_key: string; revision: number };
  history: {
    ordinal: Generated<number>;
    kind: 'finish' | 'article';
    code_key: string;
    revision: number;
    what: string;
    at: string | null;
    person: string | null;
    note: string | null;
    data: string | null;
    article_revision: number | null;
    detail: string | null;
  };
  people: {
    account_key: string;
    account: string;
    name: string;
    name_key: string;
    role: string;
    passphrase: string | null;
    house: string | null;
    disabled: Generated<number>;
    created_at: string;
  };
  person_lines: { account_key: string; line_key: string; role: string };
  sessions: {
    digest: string;
    account_key: string;
    created_at: string;
    used_at: string;
    expires_at: string;
    address: string;
    browser: string;
  };
  api_tokens: {
    token: string;
    digest: string;
    account_key: string;
    name: string;
    scope: string;
    created_at: string;
    expires_at: string;
    used_at: string | null;
  };
  resets: { account_key: string; digest: string; expires_at: string };
  audit: AuditRow;
  archive_imports: { import: Generated<number>; at: string; person: string | null; source: string; entries: string };
  /** `digest` is that of the earlier store's audit. */
  imported_audit: AuditRow & { import: number };
  counters: { product_key: string; revision: number; delivery: number };
}
