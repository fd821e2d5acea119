import type { PieceGroup } from '../../../../server/core/repair/repair.ts';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import { EditText, Select } from '../../../parts/form.tsx';
import { Chip } from '../../../parts/picture.tsx';
import { readinessTexts as texts } from '../../../texts/product-readiness.ts';
import type { ProductModel } from '../product-model.ts';
import { describeRepair, nameMaterial } from './describe-repair.ts';
import { editStep, type Step } from './repair-chain.ts';
import { formatOutcome } from './repair-outcome.tsx';

interface RepairStepProps {
  readonly model: ProductModel;
  readonly step: Step;
}

/** One repair of the chain: a checkbox, its description, its settings, and its preview. */
export function RepairStep({ model, step }: RepairStepProps) {
  const { repairs } = model;
  const { repair, key, on } = step;
  const busy = repairs.work.value !== null;
  const report = repairs.findReport(step);
  const hasLosses = (report?.losses.length ?? 0) > 0 || repair.accept === true;
  return (
    <div class="repair-step">
      <label class="tick">
        <input
          type="checkbox"
          checked={on}
          disabled={busy}
          onChange={(event) => {
            const checked = event.currentTarget.checked;
            repairs.edit((steps) => steps.map((other) => (other.key === key ? { ...other, on: checked } : other)));
          }}
        />
        <span class={on ? '' : 'soft'}>
          <span class="soft">{texts.offer}</span> {describeRepair(repair)}
        </span>
      </label>
      {repair.repair === 'separate-pieces' && on && (
        <PieceGroupTable
          groups={repair.groups}
          material={repair.material}
          disabled={busy}
          onChange={(groups) =>
            repairs.edit((steps) => editStep(steps, key, { ...repair, groups }, findRenamed(repair.groups, groups)))
          }
        />
      )}
      {report && (
        <p class="small said measure arrives">
          <span class={report.outcome === 'unfit' ? 'strong' : ''}>{formatOutcome(report.outcome, true)}:</span>{' '}
          {report.message}
        </p>
      )}
      {on && hasLosses && (
        <label class="tick said small">
          <input
            type="checkbox"
            checked={repair.accept === true}
            disabled={busy}
            onChange={(event) => {
              const { accept: _, ...plain } = repair;
              const next = event.currentTarget.checked ? { ...plain, accept: true } : plain;
              repairs.edit((steps) => editStep(steps, key, next as typeof repair));
            }}
          />
          {report && report.losses.length > 0 ? texts.acceptLosses(report.losses) : texts.lossesAccepted}
        </label>
      )}
    </div>
  );
}

interface PieceGroupTableProps {
  readonly groups: readonly PieceGroup[];
  /** Reference of the material that the pieces have now. */
  readonly material: string;
  readonly disabled: boolean;
  readonly onChange: (groups: PieceGroup[]) => void;
}

/** The groups that pieces are separated into: name and colour of each new slot, and merging two of them. */
function PieceGroupTable({ groups, material, disabled, onChange }: PieceGroupTableProps) {
  return (
    <div class="scroll">
      <table class="groups">
        <caption class="unseen">{texts.separationCaption(nameMaterial(material))}</caption>
        <thead>
          <tr>
            <th scope="col">{texts.separationColumns.slot}</th>
            <th scope="col" class="figure">
              {texts.separationColumns.pieces}
            </th>
            {groups.length > 1 && <th scope="col">{texts.separationColumns.merge}</th>}
          </tr>
        </thead>
        <tbody>
          {groups.map((group, at) => (
            <tr key={group.pieces[0] ?? group.name}>
              <th scope="row">
                <span class="named">
                  <Chip hex={group.hex} />
                  <EditText
                    label={texts.slotName(at + 1, group.pieces.length)}
                    value={group.name}
                    onCommit={(name) => name !== '' && !disabled && onChange(renameGroup(groups, at, name))}
                  />
                </span>
              </th>
              <td class="figure">{formatNumber(group.pieces.length)}</td>
              {groups.length > 1 && (
                <td>
                  <Select
                    label={texts.mergeSlot(group.name)}
                    value=""
                    disabled={disabled}
                    options={[
                      ['', texts.noMerge],
                      ...groups.flatMap(({ name }, other) => (other === at ? [] : [[String(other), name] as const])),
                    ]}
                    onPick={(into) => into !== '' && onChange(mergeGroups(groups, at, Number(into)))}
                  />
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** Renames a group. A group that takes the name of another is merged into it: a name is a slot. */
export function renameGroup(groups: readonly PieceGroup[], at: number, name: string): PieceGroup[] {
  const same = groups.findIndex((group, index) => index !== at && group.name === name);
  if (same >= 0) return mergeGroups(groups, at, same);
  return groups.map((group, index) => (index === at ? { ...group, name } : group));
}

/** Merges one group into another, which keeps its name and colour. */
export function mergeGroups(groups: readonly PieceGroup[], from: number, into: number): PieceGroup[] {
  const removed = groups[from];
  if (!removed || from === into) return [...groups];
  return groups.flatMap((group, index) => {
    if (index === from) return [];
    if (index !== into) return [group];
    const merged = { ...group, pieces: [...group.pieces, ...removed.pieces] };
    return [{ ...merged, ...mergeLists('parts', group, removed), ...mergeLists('shapes', group, removed) }];
  });
}

function mergeLists(field: 'parts' | 'shapes', group: PieceGroup, removed: PieceGroup) {
  const all = [...new Set([...(group[field] ?? []), ...(removed[field] ?? [])])];
  return all.length > 0 ? { [field]: all } : {};
}

/** The old and new name of the group that was renamed or merged. */
export function findRenamed(
  before: readonly PieceGroup[],
  after: readonly PieceGroup[],
): { readonly from: string; readonly to: string } | undefined {
  const now = new Set(after.map(({ name }) => name));
  const removed = before.find(({ name }) => !now.has(name));
  const to = after.find(({ pieces }) => removed !== undefined && pieces.includes(removed.pieces[0] ?? ''));
  return removed && to ? { from: removed.name, to: to.name } : undefined;
}
