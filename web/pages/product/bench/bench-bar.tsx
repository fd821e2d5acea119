import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { seg } from '../../../api.ts';
import { formatSize } from '../../../format.ts';
import { Heading } from '../../../parts/shell.tsx';
import { SHEETS, type SheetName } from '../../../router.ts';
import { commonTexts } from '../../../texts/common.ts';
import { benchTexts as texts } from '../../../texts/product-bench.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeDelivery, describeModel, describeParts, describeSchedule } from './describe-bench.ts';

interface BenchBarProps {
  readonly model: ProductModel;
  readonly sheet: SheetName;
}

/** The bar that stays in sight: what the product is, the state of each sheet, and the few actions that matter. */
export function BenchBar({ model, sheet }: BenchBarProps) {
  const bar = useRef<HTMLElement>(null);
  useEffect(() => {
    const root = document.documentElement;
    // the view below stays in sight too, and starts where the bar ends
    const watcher = new ResizeObserver(([entry]) => {
      root.style.setProperty('--bar', `${Math.round(entry?.borderBoxSize[0]?.blockSize ?? 0)}px`);
    });
    watcher.observe(bar.current!);
    return () => {
      watcher.disconnect();
      root.style.removeProperty('--bar');
    };
  }, []);
  const product = model.product.value;
  const size = model.survey.value?.size;
  return (
    <section ref={bar} class="bench-bar" aria-label={texts.bar}>
      <div class="bench-name">
        <Heading text={product?.name ?? model.code} titlePrefix={product?.code} />
        <p class="soft">
          {product && <span class="code">{product.code}</span>} {size && formatSize(size, units.value)}
        </p>
      </div>
      <BenchActions model={model} sheet={sheet} />
      <nav class="bench-sheets" aria-label={texts.sheets}>
        {SHEETS.map((name) => (
          <a key={name} href={getSheetAddress(model.code, name)} aria-current={name === sheet ? 'page' : undefined}>
            <span class="strong">
              {texts.sheetNames[name]}
              <span class="unseen">: </span>
            </span>
            <small class="soft">{describeSheet(model, name)}</small>
          </a>
        ))}
      </nav>
    </section>
  );
}

export function getSheetAddress(code: string, sheet: SheetName): string {
  return `/products/${seg(code)}/${sheet}`;
}

function describeSheet(model: ProductModel, sheet: SheetName): string {
  const { schedule, deliveries } = model;
  if (sheet === 'model') {
    const words = describeModel(model.product.value, model.findings.value);
    return model.preparation.changed.value ? `${words}, ${texts.notSaved}` : words;
  }
  if (sheet === 'parts') return describeParts(model.slots.value);
  if (sheet === 'schedule') {
    return describeSchedule(schedule.draft.value.rows.length, countUnsaved(schedule.changes.value));
  }
  return describeDelivery(deliveries.list.entries.value[0]?.delivery ?? null, deliveries.pending.value);
}

type Changes = ProductModel['schedule']['changes']['value'];

/** Rows that a save would change, add or remove; at least one where only the order or the default changed. */
function countUnsaved({ any, changed, added, removed }: Changes): number {
  return any ? Math.max(changed + added + removed, 1) : 0;
}

function BenchActions({ model, sheet }: BenchBarProps) {
  const { history, schedule } = model;
  const undo = history.nextUndo.value;
  const redo = history.nextRedo.value;
  const canSave = model.unsaved.value && !schedule.busy.value && schedule.rowProblems.value.size === 0;
  return (
    <div class="actions bench-actions no-print">
      <Step label={texts.undo} step={undo} none={texts.nothingToUndo} busy={history.busy.value} onGo={history.undo} />
      <Step label={texts.redo} step={redo} none={texts.nothingToRedo} busy={history.busy.value} onGo={history.redo} />
      <button
        type="button"
        aria-disabled={canSave ? undefined : 'true'}
        onClick={() => {
          if (canSave) void model.save();
        }}
      >
        {commonTexts.save}
      </button>
      {sheet !== 'deliver' && (
        <a class="button main" href={getSheetAddress(model.code, 'deliver')}>
          {texts.deliver}
        </a>
      )}
    </div>
  );
}

interface StepProps {
  readonly label: string;
  /** What the button takes back or does again; null without a step. */
  readonly step: string | null;
  readonly none: string;
  readonly busy: boolean;
  readonly onGo: () => Promise<void>;
}

/** Stays focusable without a step, as Save does without edits, so that a person who undoes by the keyboard does not lose the place. */
function Step({ label, step, none, busy, onGo }: StepProps): ComponentChildren {
  return (
    <button
      type="button"
      aria-disabled={step === null || busy ? 'true' : undefined}
      title={step === null ? none : label + texts.undoStep(step)}
      onClick={() => {
        if (step !== null) void onGo();
      }}
    >
      {label}
      {step !== null && <span class="unseen">{texts.undoStep(step)}</span>}
    </button>
  );
}
