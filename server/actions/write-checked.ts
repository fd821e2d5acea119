import type { DeliveryCheck } from '../core/delivery/delivery.ts';
import type { Models, ModelWork, WriteRequest, Written } from '../core/ports/models.ts';

/**
 * Writes a file and checks it independently of the writer. Errors that the model arrived with may stay. An error that only the
 * written file has is a fault of Dyeworks.
 * @throws Error if a check fails
 */
export async function writeChecked(
  models: Models,
  request: WriteRequest,
  work?: ModelWork,
): Promise<{ readonly written: Written; readonly checks: readonly DeliveryCheck[] }> {
  const written = await models.write(request, work);
  const checks = await models.check(request, written, work);
  const failed = checks.filter(({ passed, added = 1 }) => !passed && added > 0);
  if (failed.length > 0) {
    throw new Error(
      `the written file failed its checks: ${failed.map(({ check, detail }) => `${check}: ${detail}`).join('; ')}`,
    );
  }
  return { written, checks };
}
