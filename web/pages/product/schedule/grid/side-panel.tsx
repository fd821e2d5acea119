import { lazyPage } from '../../../../parts/lazy-page.tsx';
import type { ProductModel } from '../../product-model.ts';
import { FinishPanel } from './finish-panel.tsx';

// Each is fetched when it opens first. The finishes come with the grid, since letters that are typed go on into them.
const ExpandForm = lazyPage(() => import('../add-variants.tsx').then((forms) => forms.ExpandForm));
const CheckSetForm = lazyPage(() => import('../add-variants.tsx').then((forms) => forms.CheckSetForm));
const ColumnPanel = lazyPage(() => import('./column-panel.tsx').then((panel) => panel.ColumnPanel));
const ImportPanel = lazyPage(() => import('./import-panel.tsx').then((panel) => panel.ImportPanel));
const ReplacePanel = lazyPage(() => import('./replace-panel.tsx').then((panel) => panel.ReplacePanel));
const TemplatePanel = lazyPage(() => import('./template-panel.tsx').then((panel) => panel.TemplatePanel));

/** The sheet beside the grid, which stays in use. */
export function SidePanel({ model }: { readonly model: ProductModel }) {
  const { grid } = model;
  const panel = grid.panel.value;
  const close = () => {
    grid.panel.value = null;
    grid.focus();
  };
  switch (panel?.kind) {
    case 'finish':
      return <FinishPanel key={panel.opened} model={model} text={panel.text} onClose={close} />;
    case 'column':
      return <ColumnPanel key={panel.column} grid={grid} column={panel.column} onClose={close} />;
    case 'replace':
      return <ReplacePanel grid={grid} onClose={close} />;
    case 'import':
      return <ImportPanel grid={grid} onClose={close} />;
    case 'template':
      return <TemplatePanel grid={grid} onClose={close} />;
    case 'expand':
      return <ExpandForm model={model} onClose={close} />;
    case 'check-set':
      return <CheckSetForm model={model} onClose={close} />;
    default:
      return null;
  }
}
