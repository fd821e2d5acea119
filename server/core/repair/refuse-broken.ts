import { countErrors } from '../delivery/delivery.ts';
import { Problem } from '../problems.ts';
import type { Survey } from '../product/survey.ts';
import { REPAIR_PROBLEMS } from '../texts/problems/model.ts';

/** @throws Problem `repair-broke-model` if the validator finds more errors of some code after the repairs than before */
export function refuseBroken(before: Survey, after: Survey): void {
  const arrived = countErrors(before.validator);
  const worse = Object.entries(countErrors(after.validator)).filter(([code, n]) => n > (arrived[code] ?? 0));
  if (worse.length === 0) return;
  const first = after.validator.messages.find(({ code }) => code === worse[0]![0]);
  throw new Problem('repair-broke-model', {
    detail: REPAIR_PROBLEMS['repair-broke-model'](worse.map(([code]) => code).join(', '), first?.message ?? null),
    findings: worse.map(([code, n]) => ({ code, errors: n, before: arrived[code] ?? 0 })),
  });
}
