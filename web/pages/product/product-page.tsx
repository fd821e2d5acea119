import { useEffect, useMemo } from 'preact/hooks';
import { getModelMediaType } from '../../api.ts';
import { RefusedChange } from '../../parts/conflict.tsx';
import { useFileDrop } from '../../parts/drop-line.tsx';
import { Notice } from '../../parts/form.tsx';
import { lazyPage } from '../../parts/lazy-page.tsx';
import { navigate, type SheetName } from '../../router.ts';
import { benchTexts } from '../../texts/product-bench.ts';
import { BenchBar, getSheetAddress } from './bench/bench-bar.tsx';
import { useBenchKeys } from './bench/bench-keys.ts';
import { createProductModel, type ProductModel } from './product-model.ts';
import { IncomingSection } from './revisions/incoming-section.tsx';
import { hasUnsavedSchedules } from './schedule/schedule-model.ts';
import { ProductView } from './view/product-view.tsx';

interface ProductPageProps {
  readonly code: string;
  readonly sheet: SheetName;
}

/** The bench: a bar that stays, the product on the left, and on the right the sheet that a person works on. */
export function ProductPage({ code, sheet }: ProductPageProps) {
  const model = useMemo(() => createProductModel(code), [code]);
  useEffect(() => {
    void model.load();
    const ask = (event: BeforeUnloadEvent) => {
      // edits of the schedule outlive the page, where the browser keeps them
      const { changes, kept } = model.schedule;
      const isLost = changes.value.any && !kept.value;
      if (isLost || model.preparation.changed.value || hasUnsavedSchedules()) event.preventDefault();
    };
    window.addEventListener('beforeunload', ask);
    return () => {
      window.removeEventListener('beforeunload', ask);
      model.close();
    };
  }, [model]);
  useBenchKeys(model);
  const hasModel = model.product.value?.model != null;
  return (
    <>
      <BenchBar model={model} sheet={sheet} />
      <div class={hasModel ? 'bench' : 'bench alone'}>
        {hasModel && (
          <div class="bench-view">
            <ProductView model={model} />
          </div>
        )}
        <div class="sheet bench-sheet">
          <Notice text={model.problem.value ?? model.history.problem.value} />
          <RefusedChange changes={model.changes} />
          <IncomingSection model={model} />
          <Sheet model={model} sheet={sheet} />
          {sheet !== 'model' && <DropElsewhere model={model} />}
        </div>
      </div>
    </>
  );
}

// each sheet is fetched when it is shown first
const SHEETS = {
  model: lazyPage(() => import('./sheets/model-sheet.tsx').then((sheet) => sheet.ModelSheet)),
  parts: lazyPage(() => import('./sheets/parts-sheet.tsx').then((sheet) => sheet.PartsSheet)),
  schedule: lazyPage(() => import('./sheets/schedule-sheet.tsx').then((sheet) => sheet.ScheduleSheet)),
  deliver: lazyPage(() => import('./sheets/deliver-sheet.tsx').then((sheet) => sheet.DeliverSheet)),
} satisfies Record<SheetName, unknown>;

function Sheet({ model, sheet }: { readonly model: ProductModel; readonly sheet: SheetName }) {
  const product = model.product.value;
  if (!product) return null;
  const Shown = SHEETS[product.model ? sheet : 'model'];
  return <Shown model={model} />;
}

/** A newer export may be dropped on any sheet; what it changes is shown on the sheet of the model. */
function DropElsewhere({ model }: { readonly model: ProductModel }) {
  const over = useFileDrop((file) => {
    // a table, for a field of this sheet
    if (getModelMediaType(file.name) === null) return;
    navigate(getSheetAddress(model.code, 'model'));
    void model.revisions.send(file, model.product.value?.model === null);
  });
  return over.value ? <p class="drop over">{benchTexts.dropHere}</p> : null;
}
