import type { Repair } from '../repair/repair.ts';
import type { ModelRevision } from './product.ts';

type Revision = Pick<ModelRevision, 'revision' | 'origin'>;

/** The revision as it was received that a revision was made from, which may be itself. */
export function receivedOf({ revision, origin }: Revision): number {
  return origin.kind === 'repaired' ? origin.received : revision;
}

/** The repairs that lead from what was received to a revision; none for one that is as it came. */
export function preparationOf(model: Pick<Revision, 'origin'> | null): readonly Repair[] {
  return model?.origin.kind === 'repaired' ? model.origin.preparation : [];
}
