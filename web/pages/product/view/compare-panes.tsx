import type { Camera } from '../../../../renderer/page/live-view.ts';
import { MOST_PANES } from '../../../../renderer/page/view/plan-panes.ts';
import { isolate } from '../../../format.ts';
import { Select } from '../../../parts/form.tsx';
import { viewTexts as texts } from '../../../texts/product-view.ts';
import type { Row } from '../schedule/schedule-draft.ts';
import type { ViewModel } from './view-model.ts';

interface PaneNamesProps {
  readonly view: ViewModel;
  /** The variant in the first pane. */
  readonly row: Row | null;
  readonly camera: Camera;
}

/** The variant in each pane. The panes have one camera. */
export function PaneNames({ view, row, camera: { grid } }: PaneNamesProps) {
  const shown = [{ key: -1, name: row?.name ?? texts.original, code: row?.code ?? '' }, ...view.others.value];
  return (
    <ul
      class="pane-names"
      aria-label={texts.compared}
      style={{
        gridTemplateColumns: `repeat(${grid.columns}, 1fr)`,
        gridTemplateRows: `repeat(${grid.rows}, 1fr)`,
      }}
    >
      {shown.map(({ key, name, code }, at) => (
        <li key={key}>
          <span class="strong">{name}</span> <span class="code soft">{code}</span>
          {at > 0 && (
            <button
              type="button"
              class="no-print"
              onClick={() => {
                // this button goes with the pane
                focusCompare();
                view.stopComparing(key);
              }}
            >
              <span aria-hidden="true">×</span>
              <span class="unseen">{texts.removeVariant(name)}</span>
            </button>
          )}
        </li>
      ))}
    </ul>
  );
}

const COMPARE = 'compare-variants';
const focusCompare = () => document.getElementById(COMPARE)?.focus();

interface CompareControlsProps {
  readonly view: ViewModel;
  readonly rows: readonly Row[];
  /** Key of the variant in the first pane. */
  readonly shown: number | null;
}

export function CompareControls({ view, rows, shown }: CompareControlsProps) {
  const others = view.others.value;
  const left = rows.filter(({ key }) => key !== shown && !others.some((other) => other.key === key));
  if (rows.length < 2) return null;
  const comparing = others.length > 0;
  return (
    <>
      <button
        type="button"
        id={COMPARE}
        aria-pressed={comparing}
        onClick={() => {
          if (comparing) view.stopComparing();
          else if (left[0]) view.compare(left[0].key);
        }}
      >
        {comparing ? texts.stopComparing : texts.compare}
      </button>
      {comparing && others.length + 1 < MOST_PANES && left.length > 0 && (
        <span class="add-pane">
          <Select
            label={texts.addVariant}
            value=""
            options={[
              ['', texts.addVariant],
              ...left.map(({ key, name, code }) => [String(key), `${isolate(name)}, ${code}`] as const),
            ]}
            onPick={(key) => {
              if (key === '') return;
              // the choice goes with the last free pane
              if (others.length + 2 >= MOST_PANES || left.length === 1) focusCompare();
              view.compare(Number(key));
            }}
          />
        </span>
      )}
    </>
  );
}
