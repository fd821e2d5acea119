import type { Kysely } from 'kysely';
import type { Stores } from '../server/core/ports/stores.ts';
import { createApprovalStore } from './stores/approval-store.ts';
import { createBudgetStore } from './stores/budget-store.ts';
import { createDeliveryStore } from './stores/delivery-store.ts';
import { createDiscontinueStore } from './stores/discontinue-store.ts';
import { createFinishStore } from './stores/finish-store.ts';
import { createHistoryStore } from './stores/history-store.ts';
import { createLineStore } from './stores/line-store.ts';
import { createMapFactsStore } from './stores/map-facts-store.ts';
import { createModelStore } from './stores/model-store.ts';
import { createPictureSetStore } from './stores/picture-set-store.ts';
import { createProductStore } from './stores/product-store.ts';
import { createScheduleStore } from './stores/schedule-store.ts';
import type { Tables } from './tables.ts';

export function createStores(db: Kysely<Tables>): Stores {
  return {
    ...createLineStore(db),
    ...createFinishStore(db),
    ...createProductStore(db),
    ...createModelStore(db),
    ...createBudgetStore(db),
    ...createScheduleStore(db),
    ...createDeliveryStore(db),
    ...createDiscontinueStore(db),
    ...createApprovalStore(db),
    ...createHistoryStore(db),
    ...createPictureSetStore(db),
    ...createMapFactsStore(db),
  };
}
