import type { ShotView } from '../../../server/core/picture/picture.ts';
import { seg } from '../../api.ts';
import type { ProductModel } from './product-model.ts';
import type { Row } from './schedule-edit.ts';

/**
 * Address of the still picture of a row: by the variant's code as long as nothing of it is unsaved, so that it is the
 * picture kept for everybody; else by its choices.
 */
export function addressStill(model: ProductModel, row: Row | null, view: ShotView = 'three-quarter'): string {
  const { path, schedule } = model;
  const query = new URLSearchParams();
  if (view !== 'three-quarter') query.set('view', view);
  if (row && schedule.changes.value.rows.get(row.key) === 'saved') {
    return withQuery(`${path}/pictures/${seg(row.code)}.webp`, query);
  }
  for (const [slot, finish] of Object.entries(row?.choices ?? {})) query.append('choice', `${slot}:${finish}`);
  return withQuery(`${path}/picture.webp`, query);
}

function withQuery(path: string, query: URLSearchParams): string {
  return query.size === 0 ? path : `${path}?${query}`;
}
