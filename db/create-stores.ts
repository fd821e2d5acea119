import type { Kysely } from 'kysely';
import type { Stores } from '../server/core/ports/stores.ts';
import { createApprovalStore } from './stores/approval-store.ts';
import { createDeliveryStore } from './stores/delivery-store.ts';
import { createFinishStore } from './stores/finish-store.ts';
import { createHistoryStore } from './stores/history-store.ts';
import { createImageStore } from './stores/image-store.ts';
import { createLineStore } from './stores/line-store.ts';
import { createModelStore } from './stores/model-store.ts';
import { createProductStore } from './stores/product-store.ts';
import { createScheduleStore } from './stores/schedule-store.ts';
import { createSettingsStore } from './stores/settings-store.ts';
import type { Tables } from './tables.ts';

export function createStores(db: Kysely<Tables>): Stores {
  return {
    ...createLineStore(db),
    ...createFinishStore(db),
    ...createProductStore(db),
    ...createModelStore(db),
    ...createScheduleStore(db),
    ...createDeliveryStore(db),
    ...createApprovalStore(db),
    ...createHistoryStore(db),
    ...createImageStore(db),
    ...createSettingsStore(db),
  };
}
