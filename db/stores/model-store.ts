import { type Kysely, sql, type Transaction } from 'kysely';
import { LRUCache } from 'lru-cache';
import { foldCode } from '../../server/core/codes.ts';
import type { CurrentModel, SizedProduct, StoredModel, Stores, Use } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { deletedProduct, type RevisionOrigin, unknownRevision } from '../../server/core/product/product.ts';
import type { Slot, SlotPlace } from '../../server/core/product/slot.ts';
import type { Piece, Survey } from '../../server/core/product/survey.ts';
import type { Repair } from '../../server/core/repair/repair.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import { REPAIR_PROBLEMS } from '../../server/core/texts/problems/model.ts';
import type { Tables } from '../tables.ts';
import { apartFromCalls, atomically } from '../transactions.ts';
import { requireProduct, takeNumber } from './product-store.ts';

type ModelStore = Pick<
  Stores,
  | 'getModel'
  | 'listLineSizes'
  | 'getRevision'
  | 'listRevisions'
  | 'listPieces'
  | 'addModel'
  | 'useRevision'
  | 'replaceSurvey'
  | 'listSlots'
  | 'changeSlot'
  | 'getPreparation'
  | 'putPreparation'
>;

/** Products whose size is remembered, some hundred bytes each. */
const SIZES_KEPT = 20_000;

export function createModelStore(db: Kysely<Tables>): ModelStore {
  /**
   * Sizes of models by product, revision and digest. Each picture at the scale of a line needs those of all its products, and
   * reading one out of a survey parses the survey. The size of given bytes does not change.
   */
  const sizes = new LRUCache<string, { readonly size: Survey['size'] }>({ max: SIZES_KEPT });

  return {
    async getModel(product) {
      const row = await models(db)
        .innerJoin('products', (on) =>
          on
            .onRef('products.product_key', '=', 'models.product_key')
            .onRef('products.current_revision', '=', 'models.revision'),
        )
        .where('models.product_key', '=', foldCode(product))
        .executeTakeFirst();
      return row ? readModel(row) : null;
    },

    async listLineSizes(line) {
      const rows = await db
        .selectFrom('products')
        .innerJoin('models', (on) =>
          on
            .onRef('products.product_key', '=', 'models.product_key')
            .onRef('products.current_revision', '=', 'models.revision'),
        )
        .select(['products.mount', 'models.product_key', 'models.revision', 'models.sha256'])
        .where('products.line_key', '=', foldCode(line))
        .execute();
      const found: SizedProduct[] = [];
      for (const { mount, product_key, revision, sha256 } of rows) {
        const key = `${product_key} ${revision} ${sha256}`;
        const known = sizes.get(key) ?? { size: await readStoredSize(db, product_key, revision) };
        sizes.set(key, known);
        if (known.size) found.push({ mount: mount as SizedProduct['mount'], size: known.size });
      }
      return found;
    },

    async getRevision(product, revision) {
      const row = await models(db)
        .select('models.places')
        .where('models.product_key', '=', foldCode(product))
        .where('models.revision', '=', revision)
        .executeTakeFirst();
      return row ? { ...readModel(row), places: JSON.parse(row.places) as StoredModel['places'] } : null;
    },

    async listRevisions(product) {
      const rows = await models(db)
        .innerJoin('products', 'products.product_key', 'models.product_key')
        .select('products.current_revision')
        .where('models.product_key', '=', foldCode(product))
        .orderBy('models.revision', 'desc')
        .execute();
      return rows.map((row) => {
        const { survey, ...revision } = readModel(row);
        const { counts } = survey;
        const current = row.current_revision === row.revision;
        return { ...revision, current, size: readSize(survey.size), triangles: counts.triangles, draws: counts.draws };
      });
    },

    async listPieces(product, revision) {
      const row = await db
        .selectFrom('models')
        .select('pieces')
        .where('product_key', '=', foldCode(product))
        .where('revision', '=', revision)
        .executeTakeFirst();
      return row ? (JSON.parse(row.pieces) as Piece[]) : [];
    },

    addModel(product, model, use) {
      return atomically(db, async (tx) => {
        const product_key = foldCode(product);
        const revision = await takeNumber(tx, product_key, 'revision');
        const { sha256, bytes, receivedSha256, origin, createdAt, survey, pieces } = model;
        await tx
          .insertInto('models')
          .values({
            product_key,
            revision,
            sha256,
            bytes,
            received_sha256: receivedSha256,
            survey: JSON.stringify(survey),
            origin: JSON.stringify(origin),
            created_at: createdAt,
            pieces: JSON.stringify(pieces),
          })
          .execute();
        const slots = use ? await makeCurrent(tx, product_key, revision, use) : await listSlots(tx, product_key);
        return { revision, sha256, bytes, receivedSha256, origin, createdAt, slots };
      });
    },

    useRevision(product, revision, use) {
      return atomically(db, async (tx) => {
        const product_key = foldCode(product);
        const row = await tx
          .selectFrom('models')
          .select('revision')
          .where('product_key', '=', product_key)
          .where('revision', '=', revision)
          .executeTakeFirst();
        if (!row) throw unknownRevision(revision);
        return makeCurrent(tx, product_key, revision, use);
      });
    },

    async replaceSurvey(product, revision, survey, pieces) {
      const write = db
        .updateTable('models')
        .set({ survey: JSON.stringify(survey), pieces: JSON.stringify(pieces) })
        .where('product_key', '=', foldCode(product))
        .where('revision', '=', revision);
      await apartFromCalls(() => write.execute());
    },

    listSlots: (product) => listSlots(db, foldCode(product)),

    changeSlot(product, key, change) {
      return atomically(db, async (tx) => {
        const product_key = foldCode(product);
        const slot = (await listSlots(tx, product_key)).find((candidate) => candidate.slot === key);
        if (!slot) return null;
        const changed = change(slot);
        await tx
          .updateTable('slots')
          .set({ data: JSON.stringify(changed) })
          .where('product_key', '=', product_key)
          .where('slot', '=', key)
          .execute();
        return changed;
      });
    },

    getPreparation: (product) => getSteps(db, foldCode(product)),

    putPreparation(product, steps) {
      return atomically(db, async (tx) => {
        await requireProduct(tx, foldCode(product));
        await putSteps(tx, foldCode(product), steps);
      });
    },
  };
}

/** Makes a revision current and stores its slots. The revision that was current keeps the places of its slots. */
async function makeCurrent(tx: Transaction<Tables>, product_key: string, revision: number, use: Use): Promise<Slot[]> {
  const row = await tx
    .selectFrom('products')
    .select('current_revision')
    .where('product_key', '=', product_key)
    .executeTakeFirst();
  if (!row) throw deletedProduct(product_key);
  const before = row.current_revision;
  if (use.ifCurrent !== undefined && use.ifCurrent !== before) {
    throw new Problem('stale-model', {
      detail: REPAIR_PROBLEMS['stale-model'](before, use.ifCurrent ?? null),
      expected: use.ifCurrent,
      received: before,
    });
  }
  const known = await listSlots(tx, product_key);
  if (before !== null) {
    const places = known.map(({ slot, materialName, materials }): SlotPlace => ({ slot, materialName, materials }));
    await tx
      .updateTable('models')
      .set({ places: JSON.stringify(places) })
      .where('product_key', '=', product_key)
      .where('revision', '=', before)
      .execute();
  }
  await tx.updateTable('products').set({ current_revision: revision }).where('product_key', '=', product_key).execute();
  const slots = [...use.derive(known, await listInUse(tx, product_key))];
  await tx.deleteFrom('slots').where('product_key', '=', product_key).execute();
  for (const [ordinal, slot] of slots.entries()) {
    await tx
      .insertInto('slots')
      .values({ product_key, slot: slot.slot, ordinal, data: JSON.stringify(slot) })
      .execute();
  }
  if (use.preparation) await putSteps(tx, product_key, use.preparation(await getSteps(tx, product_key)));
  return slots;
}

/** Reads in the same transaction, so a schedule that was saved during a repair counts too. */
async function listInUse(tx: Transaction<Tables>, product_key: string): Promise<Set<string>> {
  const row = await tx.selectFrom('schedules').select('data').where('product_key', '=', product_key).executeTakeFirst();
  const schedule = row ? (JSON.parse(row.data) as Schedule) : null;
  return new Set(schedule?.variants.flatMap((variant) => Object.keys(variant.choices)) ?? []);
}

async function getSteps(db: Kysely<Tables>, product_key: string): Promise<Repair[]> {
  const row = await db
    .selectFrom('preparations')
    .select('steps')
    .where('product_key', '=', product_key)
    .executeTakeFirst();
  return row ? (JSON.parse(row.steps) as Repair[]) : [];
}

async function putSteps(tx: Transaction<Tables>, product_key: string, steps: readonly Repair[]): Promise<void> {
  const data = JSON.stringify(steps);
  await tx
    .insertInto('preparations')
    .values({ product_key, steps: data })
    .onConflict((on) => on.column('product_key').doUpdateSet({ steps: data }))
    .execute();
}

async function listSlots(db: Kysely<Tables>, product_key: string): Promise<Slot[]> {
  const found = await db
    .selectFrom('slots')
    .select('data')
    .where('product_key', '=', product_key)
    .orderBy('ordinal')
    .execute();
  return found.map((row) => JSON.parse(row.data) as Slot);
}

function models(db: Kysely<Tables>) {
  return db
    .selectFrom('models')
    .select([
      'models.revision',
      'models.sha256',
      'models.bytes',
      'models.received_sha256',
      'models.origin',
      'models.created_at',
      'models.survey',
    ]);
}

interface ModelRow {
  readonly revision: number;
  readonly sha256: string;
  readonly bytes: number;
  readonly received_sha256: string | null;
  readonly origin: string;
  readonly created_at: string;
  readonly survey: string;
}

/** A stored size. Older versions wrote an unknown size with nulls. */
async function readStoredSize(db: Kysely<Tables>, product: string, revision: number): Promise<Survey['size']> {
  const row = await db
    .selectFrom('models')
    .select(sql<string | null>`json_extract(survey, '$.size')`.as('size'))
    .where('product_key', '=', product)
    .where('revision', '=', revision)
    .executeTakeFirst();
  return typeof row?.size === 'string' ? readSize(JSON.parse(row.size)) : null;
}

function readSize(size: Survey['size']): Survey['size'] {
  return size && Object.values(size).every(Number.isFinite) ? size : null;
}

function readModel(row: ModelRow): CurrentModel {
  return {
    revision: row.revision,
    sha256: row.sha256,
    bytes: row.bytes,
    receivedSha256: row.received_sha256,
    origin: JSON.parse(row.origin) as RevisionOrigin,
    createdAt: row.created_at,
    survey: JSON.parse(row.survey) as Survey,
  };
}
