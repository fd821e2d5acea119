import { useSignal } from '@preact/signals';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';
import type { Clash } from './merge-drafts.ts';

/** What two people changed in different ways, side by side: one choice per cell. */
export function ConflictPanel({ model }: { readonly model: ProductModel }) {
  const { schedule, grid } = model;
  const conflict = schedule.conflict.value;
  const theirs = useSignal<ReadonlySet<string>>(new Set());
  const title = useRef<HTMLHeadingElement>(null);
  useLayoutEffect(() => {
    theirs.value = new Set();
    if (conflict) title.current?.focus();
  }, [conflict]);
  if (!conflict) return null;
  const rows = new Map([...conflict.theirs.rows, ...conflict.merged.rows].map((row) => [row.key, row]));
  const choose = (id: string, isTheirs: boolean) => {
    const next = new Set(theirs.value);
    if (isTheirs) next.add(id);
    else next.delete(id);
    theirs.value = next;
  };
  const show = (clash: Clash, value: string | null) => {
    if (value === null) return texts.rowRemoved;
    if (value === '') return texts.emptyValue;
    return typeof clash.field === 'object' ? (grid.getFinish(value)?.name ?? value) : value;
  };
  return (
    <section class="conflict" aria-label={texts.conflict}>
      <h3 ref={title} tabIndex={-1}>
        {texts.conflict}
      </h3>
      <p class="measure">{texts.conflictIntro(conflict.clashes.length)}</p>
      <div class="actions">
        <button
          type="button"
          onClick={() => {
            theirs.value = new Set();
          }}
        >
          {texts.allMine}
        </button>
        <button
          type="button"
          onClick={() => {
            theirs.value = new Set(conflict.clashes.map(({ id }) => id));
          }}
        >
          {texts.allTheirs}
        </button>
      </div>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">{texts.conflictColumns.where}</th>
              <th scope="col">{texts.conflictColumns.before}</th>
              <th scope="col">{texts.conflictColumns.mine}</th>
              <th scope="col">{texts.conflictColumns.theirs}</th>
            </tr>
          </thead>
          <tbody>
            {conflict.clashes.map((clash) => {
              const where = describePlace(
                clash,
                rows.get(clash.key ?? -1)?.name ?? '',
                (slot) => grid.slots.value.find((each) => each.slot === slot)?.label ?? slot,
              );
              const isTheirs = theirs.value.has(clash.id);
              return (
                <tr key={clash.id}>
                  <th scope="row">{where}</th>
                  <td>{show(clash, clash.base)}</td>
                  {[false, true].map((side) => (
                    <td key={String(side)}>
                      <label class="tick">
                        <input
                          type="radio"
                          name={`clash ${clash.id}`}
                          aria-label={`${where}, ${side ? texts.conflictColumns.theirs : texts.conflictColumns.mine}: ${show(clash, side ? clash.theirs : clash.mine)}`}
                          checked={isTheirs === side}
                          onChange={() => choose(clash.id, side)}
                        />
                        <span>{show(clash, side ? clash.theirs : clash.mine)}</span>
                      </label>
                    </td>
                  ))}
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
      <button
        type="button"
        class="main"
        disabled={schedule.busy.value}
        onClick={() => void schedule.resolve(theirs.value)}
      >
        {texts.settle}
      </button>
    </section>
  );
}

function describePlace({ field }: Clash, row: string, label: (slot: string) => string): string {
  if (field === 'default') return texts.defaultVariant;
  if (field === 'template') return texts.template;
  if (field === 'row') return `${row}, ${texts.wholeRow}`;
  return `${row}, ${typeof field === 'object' ? label(field.slot) : texts.columns[field]}`;
}
