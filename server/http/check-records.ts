import { Ajv, type ValidateFunction } from 'ajv';
import { type TSchema, Type } from 'typebox';
import { CODE_PATTERN } from '../core/codes.ts';
import { dropOddEntries } from '../core/finish/finish-records.ts';
import { EVENTS, WAYS } from '../core/history/history.ts';
import { MOUNTS } from '../core/picture/picture.ts';
import { CLASSES } from '../core/product/product.ts';
import { SURVEY_FORMAT } from '../core/product/survey.ts';
import { ColourSpecification } from './contracts/appearance.ts';
import { ManifestAnswer } from './contracts/delivery.ts';
import { Finding, FindingCodes } from './contracts/finding.ts';
import { ArticleAnswer, FinishDefinition, ResolvedFinish } from './contracts/finish.ts';
import { Rule } from './contracts/line.ts';
import { BudgetAnswer, Keep } from './contracts/product.ts';
import { Repair, RepairReport } from './contracts/repair.ts';
import { Code, Count, Digest, Key, mapOf, nullable, Options, ref, strict } from './contracts/schema-parts.ts';
import { Piece, Survey } from './contracts/survey.ts';

// The JSON in the records of an archive, as answers state it. What answers cannot say is refused here, so that no later call fails
// on it. Fields that earlier versions lacked are optional in answers as well.

const KNOWN: readonly TSchema[] = [
  ArticleAnswer,
  BudgetAnswer,
  ColourSpecification,
  Finding,
  FindingCodes,
  FinishDefinition,
  ManifestAnswer,
  Repair,
  RepairReport,
  ResolvedFinish,
  Rule,
  Survey,
];

const Place = Type.Object({
  slot: Key,
  materialName: Type.String(),
  materials: Type.Array(nullable(Count)),
});

const Slot = Type.Object({
  slot: Key,
  label: Type.String(),
  materialName: Type.String(),
  materials: Type.Array(nullable(Count)),
  primitives: Type.Array(Type.Object({ mesh: Count, primitive: Count })),
  triangles: Count,
  position: nullable(Key),
  options: nullable(Options),
  fixed: Type.Boolean(),
  keep: Keep,
  grainDegrees: Type.Number(),
  said: Type.Optional(Type.Array(Type.String())),
});

const Schedule = Type.Object({
  default: Code,
  variants: Type.Array(
    Type.Object(
      { code: Code, name: Type.String(), choices: mapOf(Code, ''), gtin: Type.Optional(Type.String()) },
      strict,
    ),
  ),
});

const Approval = Type.Object({
  subject: Type.Union([Type.Object({ finish: Code }, strict), Type.Object({ product: Code, variant: Code }, strict)]),
  decision: Type.Enum(['submitted', 'approved', 'rejected']),
  round: Type.Integer({ minimum: 1 }),
  person: Type.String(),
  reason: Type.Optional(Type.String()),
  light: Type.String(),
  shown: Type.String(),
  revisions: mapOf(Count, ''),
  look: Type.Optional(Type.Object({ worn: Type.Array(Type.Object({ finish: Code, look: Digest })) })),
  picture: Type.Optional(Digest),
  at: Type.String(),
});

const PictureSet = Type.Object({
  code: Code,
  name: Type.String(),
  subject: Type.Object({}),
  frame: Type.Object({}),
  format: Type.String(),
  ground: Type.String(),
  shadow: Type.String(),
  fill: Type.Object({ minPercent: Type.Number(), maxPercent: Type.Number() }),
  scale: Type.Enum(['product', 'line']),
  names: Type.String(),
  gs1Names: Type.Boolean(),
});

const OldSurvey = Type.Object({ format: Type.Integer({ maximum: SURVEY_FORMAT - 1 }), counts: Type.Object({}) });

const Sheet = Type.Object({ widthMm: Type.Number(), depthMm: Type.Number(), heightMm: Type.Number() }, strict);

const Definition = (schema: TSchema) => ({ schema: ref(schema), read: dropOddEntries });

/** Columns with JSON, by table. */
const COLUMNS: Readonly<
  Record<string, Readonly<Record<string, { schema: TSchema; read?: (value: object) => object }>>>
> = {
  lines: { rules: { schema: Type.Array(ref(Rule)) } },
  line_positions: { options: { schema: nullable(Options) } },
  articles: { data: Definition(ArticleAnswer) },
  finishes: { data: Definition(FinishDefinition) },
  products: { sheet: { schema: nullable(Sheet) } },
  models: {
    survey: { schema: Type.Union([ref(Survey), OldSurvey]) },
    origin: { schema: Type.Object({ kind: Type.String() }) },
    pieces: { schema: Type.Array(Piece) },
    places: { schema: Type.Array(Place) },
  },
  slots: { data: { schema: Slot } },
  schedules: { data: { schema: Schedule } },
  preparations: { steps: { schema: Type.Array(ref(Repair)) } },
  deliveries: {
    manifest: { schema: ref(ManifestAnswer) },
    withdrawn: { schema: nullable(Type.Object({ at: Type.String(), reason: Type.String() })) },
  },
  delivery_files: { details: { schema: Type.Object({}) } },
  budgets: { data: { schema: ref(BudgetAnswer) } },
  picture_sets: { data: { schema: PictureSet } },
  approvals: { data: { schema: Approval } },
  images: { encoding: { schema: nullable(Type.Object({})) } },
  map_facts: { data: { schema: nullable(Type.Object({})) } },
  history: {
    data: { schema: nullable(Type.Union([ref(FinishDefinition), ref(ArticleAnswer)])), read: dropOddEntries },
    detail: { schema: nullable(Type.Object({})) },
  },
  audit: { record: { schema: Type.Object({ at: Type.String(), what: Type.String(), about: Type.Object({}) }) } },
};

/** Columns with one of some words. */
const WORDS: Readonly<Record<string, readonly string[]>> = {
  'products.class': CLASSES,
  'products.mount': MOUNTS,
  'history.what': [...WAYS, ...EVENTS],
  'line_range.status': ['planned', 'current', 'phase-out', 'discontinued'],
};

const Text = Type.String({ maxLength: 500 });
const Day = Type.String({ pattern: '^\\d{4}-\\d{2}-\\d{2}' });

/** Columns with plain text. */
const PLAIN: Readonly<Record<string, TSchema>> = {
  'lines.name': Text,
  'products.name': Text,
  'products.budget': Text,
  'line_positions.position': Key,
  'line_positions.label': Text,
  'line_range.grade': nullable(Type.String({ maxLength: 32 })),
  'line_range.last_order': nullable(Day),
  'line_range.replaced_by': nullable(Type.String({ pattern: CODE_PATTERN })),
  'slots.slot': Key,
  'models.sha256': Digest,
  'models.received_sha256': nullable(Digest),
  'deliveries.sha256': Digest,
  'schedules.tag': Digest,
  'images.sha256': Digest,
  'images.mime_type': Type.Enum(['image/png', 'image/jpeg', 'image/webp', 'image/ktx2']),
  'delivery_files.form': Type.String({ pattern: '^[!-~]{1,4000}$' }),
  'delivery_files.media_type': Type.String({ pattern: '^[a-z0-9.+-]{1,60}/[a-z0-9.+-]{1,60}$' }),
  'delivery_files.sha256': nullable(Digest),
};

/** Compiled when the first archive comes. */
export function createRecordCheck() {
  let checks: Map<string, ValidateFunction> | undefined;
  return (table: string, row: Readonly<Record<string, unknown>>): boolean => {
    checks ??= compileAll();
    for (const [column, { read }] of Object.entries(COLUMNS[table] ?? {})) {
      const text = row[column];
      const value = typeof text === 'string' ? (JSON.parse(text) as unknown) : null;
      const seen = read && typeof value === 'object' && value !== null ? read(value) : value;
      if (!checks.get(`${table}.${column}`)!(seen)) return false;
    }
    for (const column of Object.keys(row)) {
      const plain = checks.get(`${table}.${column}`);
      if (`${table}.${column}` in PLAIN && !plain!(row[column])) return false;
    }
    return Object.entries(row).every(([column, value]) => WORDS[`${table}.${column}`]?.includes(String(value)) ?? true);
  };
}

function compileAll(): Map<string, ValidateFunction> {
  const ajv = new Ajv({ strict: false, allErrors: false });
  for (const schema of KNOWN) ajv.addSchema(schema);
  const packed = Object.entries(COLUMNS).flatMap(([table, columns]) =>
    Object.entries(columns).map(([column, { schema }]) => [`${table}.${column}`, schema] as const),
  );
  return new Map([...packed, ...Object.entries(PLAIN)].map(([column, schema]) => [column, ajv.compile(schema)]));
}
