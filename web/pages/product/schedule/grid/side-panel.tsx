import type { ProductModel } from '../../product-model.ts';
import { CheckSetForm, ExpandForm } from '../add-variants.tsx';
import { ColumnPanel } from './column-panel.tsx';
import { FinishPanel } from './finish-panel.tsx';
import { ImportPanel } from './import-panel.tsx';
import { ReplacePanel } from './replace-panel.tsx';
import { TemplatePanel } from './template-panel.tsx';

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
