import type { Kysely, Transaction } from 'kysely';
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
import { createStagedImports, type StagedImports } from './stores/staged-imports.ts';
import type { Tables } from './tables.ts';
import { atomically } from './transactions.ts';

/** What work on tables needs, in one transaction. */
export interface OpenTransaction {
  readonly tx: Transaction<Tables>;
  readonly stores: Stores;
  /** For work that writes finishes or articles past the stores. */
  readonly forgetLists: () => void;
}

/** What a transaction came to, and what is to be done once it is stored. */
interface Done<T> {
  readonly result: T;
  readonly onceStored: () => void;
}

/** The stores, and a way to write whole tables beside them. */
export interface DatabaseStores extends Stores {
  openTransaction<T>(work: (open: OpenTransaction) => Promise<T>): Promise<T>;
}

export function createStores(db: Kysely<Tables>): DatabaseStores {
  const lists = createFinishLists(db);
  const staged = createStagedImports(db, lists);
  const held = createHeldSchedules();
  async function work<T>(
    transaction: Transaction<Tables>,
    asked: (stores: Stores, forgetLists: () => void) => Promise<T>,
  ): Promise<Done<T>> {
    const own = lists.begin(transaction);
    const tx: Stores = {
      ...connect(transaction, own.lists, held, null),
      transaction: (inner) => inner(tx),
      snapshot: (inner) => inner(tx),
    };
    const result = await asked(tx, own.lists.forget);
    return { result, onceStored: own.end() };
  }
  async function complete<T>(stored: Promise<Done<T>>): Promise<T> {
    const { result, onceStored } = await stored;
    onceStored();
    return result;
  }
  /** Lists that are kept contain an import which is still moving to its place; what is read now would not. */
  const whole = async () => {
    if (!lists.isKept()) await staged.settled();
  };
  const root = connect(db, lists, held, staged);
  return {
    ...root,
    listFinishes: () => whole().then(root.listFinishes),
    getFinishHistory: (code) => staged.settled().then(() => root.getFinishHistory(code)),
    transaction: (asked) => complete(staged.whenSettled((tx) => work(tx, asked))),
    openTransaction: (asked) =>
      complete(staged.whenSettled((tx) => work(tx, (stores, forgetLists) => asked({ tx, stores, forgetLists })))),
    async snapshot(asked) {
      await whole();
      return complete(atomically(db, (tx) => work(tx, asked)));
    },
  };
}

/** The stores on a database or in a transaction. */
function connect(
  db: Kysely<Tables>,
  lists: FinishLists,
  held: HeldSchedules,
  staged: StagedImports | null,
): Omit<Stores, 'transaction' | 'snapshot'> {
  return {
    ...createLineStore(db),
    ...createFinishStore(db, lists, staged),
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
