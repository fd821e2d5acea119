import { countErrors } from '../core/delivery/count-errors.ts';
import type { RepairMode } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import type { Piece, Survey } from '../core/product/survey.ts';
import type { Repair, RepairReport } from '../core/repair/repair.ts';
import { REPAIR_PROBLEMS } from '../core/texts/problems/repair.ts';
import type { Context } from './context.ts';

/** A repaired model in a temporary file, measured. The caller adopts it or discards it. */
export interface RepairedModel {
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly survey: Survey;
  readonly pieces: readonly Piece[];
  readonly reports: readonly RepairReport[];
  readonly materialOrigins: readonly (number | null)[];
}

/**
 * Makes repairs on a stored model and measures what came of it. Nothing that the validator likes less than the source is
 * handed out.
 * @throws Problem `repair-unfit`, `repair-would-lose` (strict), `repair-broke-model`, `model-too-complex`
 */
export async function makeRepairs(
  { files, models }: Pick<Context, 'files' | 'models'>,
  source: { readonly sha256: string; readonly survey: Survey },
  repairs: readonly Repair[],
  mode: RepairMode,
): Promise<RepairedModel> {
  const path = await files.newTemporary();
  try {
    const sourcePath = files.getPath(source.sha256);
    const repaired = await models.repair({ sourcePath, targetPath: path, repairs, mode });
    const { survey, pieces } = await models.survey(path, 'model/gltf-binary');
    refuseBroken(source.survey, survey);
    return { path, ...repaired, survey, pieces };
  } catch (error) {
    await files.discard(path);
    throw error;
  }
}

/** @throws Problem `repair-broke-model` */
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
