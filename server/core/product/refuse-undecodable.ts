import { Problem } from '../problems.ts';
import { sayUndecodable } from './check-structure.ts';
import type { Survey } from './survey.ts';

/**
 * Refuses a model no viewer can show: one whose compressed geometry is damaged.
 * @throws Problem `geometry-undecodable`
 */
export function refuseUndecodable({ faults }: Pick<Survey, 'faults'>): void {
  const damaged = faults.find(({ fault }) => fault === 'undecodable');
  if (!damaged) return;
  throw new Problem('geometry-undecodable', {
    detail: sayUndecodable(damaged.where),
    received: damaged.count,
    where: damaged.where,
  });
}
