import type { Kysely } from 'kysely';
import type { Stores } from '../server/core/ports/stores.ts';
import { createApprovalStore } from './stores/approval-store.ts';
import { createDeliveryStore } from './stores/delivery-store.ts';
import { createFinishLists, type FinishLists } from './stores/finish-lists.ts';
import { createFinishStore } from './stores/finish-store.ts';
import { createHistoryStore } from './stores/history-store.ts';
import { createImageStore } from './stores/image-store.ts';
import { createLineStore } from './stores/line-store.ts';
import { createModelStore } from './stores/model-store.ts';
import { createProductStore } from './stores/product-store.ts';
import { createHeldSchedules, createScheduleStore, type HeldSchedules } from './stores/schedule-store.ts';
import { createSettingsStore } from './stores/settings-store.ts';
import type { Tables } from './tables.ts';
import { atomically } from './transactions.ts';

export function createStores(db: Kysely<Tables>): Stores {
  const lists = createFinishLists(db);
  const held = createHeldSchedules();
  const begin: Stores['transaction'] = (work) =>
    atomically(db, async (transaction) => {
      const own = lists.begin(transaction);
      const tx: Stores = {
        ...connect(transaction, own.lists, held),
        transaction: (inner) => inner(tx),
        snapshot: (inner) => inner(tx),
      };
      const result = await work(tx);
      own.end();
      return result;
    });
  return { ...connect(db, lists, held), transaction: begin, snapshot: begin };
}

/** The stores on a database or in a transaction. */
function connect(
  db: Kysely<Tables>,
  lists: FinishLists,
  held: HeldSchedules,
): Omit<Stores, 'transaction' | 'snapshot'> {
  return {
    ...createLineStore(db),
    ...createFinishStore(db, lists),
    ...createProductStore(db),
    ...createModelStore(db),
    ...createScheduleStore(db, held),
    ...createDeliveryStore(db),
    ...createApprovalStore(db),
    ...createHistoryStore(db),
    ...createImageStore(db),
    ...createSettingsStore(db),
  };
}
