import { readFile } from 'node:fs/promises';
import type { Repaired, RepairRequest } from '../../core/ports/models.ts';
import { Problem } from '../../core/problems.ts';
import { REPAIRS, type Repair, type RepairName, type RepairReport } from '../../core/repair/repair.ts';
import { readContainer } from '../container.ts';
import { ModelEdit } from './model-edit.ts';
import type { Repairer } from './repairer.ts';
import { REPAIRERS } from './repairers.ts';
import { writeEdit } from './write-edit.ts';

/**
 * Makes repairs one after the other on a model in memory and writes the result.
 * @throws Problem `repair-unfit`, `repair-would-lose` in strict mode; nothing is written then
 */
export async function repairModel({ sourcePath, targetPath, repairs, mode }: RepairRequest): Promise<Repaired> {
  const container = await readContainer(sourcePath);
  const file = await readFile(sourcePath);
  const { bin } = container;
  const edit = new ModelEdit(container.json, bin && file.subarray(bin.offset, bin.offset + bin.length));
  const reports: RepairReport[] = [];
  for (const [index, repair] of repairs.entries()) {
    const report = await tryRepair(edit, repair, index);
    if (mode === 'strict') refuse(report, index);
    reports.push(report);
  }
  const written = await writeEdit(edit, targetPath);
  return { ...written, reports };
}

/** A repair that fails where nobody foresaw it may have changed half of what it meant to: nothing is written then. */
async function tryRepair(edit: ModelEdit, repair: Repair, index: number): Promise<RepairReport> {
  try {
    return await runRepair(edit, repair);
  } catch (cause) {
    if (cause instanceof Problem) throw cause;
    throw new Problem('repair-unfit', {
      detail: `${repair.repair}: the model has something this repair cannot handle. Nothing was changed; leave it out.`,
      where: `/repairs/${index}`,
      cause,
    });
  }
}

async function runRepair(edit: ModelEdit, repair: Repair): Promise<RepairReport> {
  const repairer = REPAIRERS[repair.repair] as unknown as Repairer<RepairName>;
  const losses = repairer.listLosses?.(edit, repair as never) ?? [];
  const base = { repair, touchesGeometry: REPAIRS[repair.repair].geometry, losses };
  if (losses.length > 0 && !repair.accept) {
    const message = `It would lose ${losses.join(', ')}. Say “accept” with it to have it so.`;
    return { ...base, outcome: 'unfit', message, figures: {} };
  }
  const { outcome, message, figures = {} } = await repairer.apply(edit, repair as never);
  return { ...base, outcome, message, figures, losses: outcome === 'done' ? losses : [] };
}

function refuse({ outcome, repair, message, losses }: RepairReport, index: number): void {
  if (outcome !== 'unfit') return;
  throw new Problem(losses.length > 0 ? 'repair-would-lose' : 'repair-unfit', {
    detail: `${repair.repair}: ${message}`,
    where: `/repairs/${index}`,
    ...(losses.length > 0 ? { findings: losses } : {}),
  });
}
