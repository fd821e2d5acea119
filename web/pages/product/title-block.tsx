import type { ComponentChildren } from 'preact';
import { MOUNTS } from '../../../server/core/picture/picture.ts';
import { CLASSES } from '../../../server/core/product/product.ts';
import { formatBytes, formatKey, formatSize, shortDigest } from '../../format.ts';
import { EditText } from '../../parts/edit-text.tsx';
import { Select } from '../../parts/select.tsx';
import { commonTexts } from '../../texts/common.ts';
import { units } from '../../units.ts';
import type { ProductModel } from './product-model.ts';
import { SheetSize } from './sheet-size.tsx';

/** The title block of the drawing: what the product is, by its sheet and as measured. */
export function TitleBlock({ model }: { readonly model: ProductModel }) {
  const product = model.product.value;
  if (!product) return null;
  const size = model.survey.value?.size;
  const budget = model.budgets.value.find(({ name }) => name === product.budget);
  return (
    <dl class="title-block">
      <Cell name="Code" span={2}>
        <span class="code strong">{product.code}</span>
      </Cell>
      <Cell name="Name" span={4}>
        <EditText label="Name" value={product.name} onCommit={(name) => void model.change({ name })} />
      </Cell>
      <Cell name="Line" span={3}>
        <Select
          label="Line"
          value={product.line ?? ''}
          options={[...model.lines.value.map(({ line, name }) => [line, name] as const), ['', 'No line']]}
          onPick={(line) => void model.change({ line: line === '' ? null : line })}
        />
      </Cell>
      <Cell name="Class" span={3}>
        <Select
          label="Class"
          value={product.class}
          options={CLASSES.map((value) => [value, value === 'none' ? 'None of these' : formatKey(value)])}
          onPick={(value) => void model.change({ class: value })}
        />
      </Cell>
      <Cell name="Stands on" span={3}>
        <Select
          label="Stands on"
          value={product.mount}
          options={MOUNTS.map((mount) => [mount, formatKey(mount)])}
          onPick={(mount) => void model.change({ mount })}
        />
      </Cell>
      <Cell name="By the sheet, W × D × H in mm" span={5}>
        <SheetSize sheet={product.sheet} onCommit={(sheet) => void model.change({ sheet })} />
      </Cell>
      <Cell name="Measured, W × D × H" span={4}>
        {size ? formatSize(size, units.value) : 'not known'}
        {model.survey.value?.sizeIsExact === false && ', at most'}
      </Cell>
      <Cell name="Model" span={3}>
        {product.model ? (
          <>
            Revision {product.model.revision}, {formatBytes(product.model.bytes)},{' '}
            <span class="code">{shortDigest(product.model.sha256)}</span>
          </>
        ) : (
          'none yet'
        )}
      </Cell>
      <Cell name="Verdict" span={2}>
        <span class="strong">{commonTexts.verdict(product.verdict, product.model !== null)}</span>
      </Cell>
      <Cell name="Held against the budget" span={7} wide>
        <Select
          label="Budget the model is held against"
          value={product.budget}
          options={model.budgets.value.map(({ name, label }) => [name, label])}
          onPick={(budget) => void model.change({ budget })}
        />
        {budget && <small class="soft source">{budget.source}</small>}
      </Cell>
    </dl>
  );
}

interface CellProps {
  readonly name: string;
  /** How many of the block's twelve columns it takes where there is room. */
  readonly span: number;
  /** Takes the whole line where there is not. */
  readonly wide?: boolean;
  readonly children: ComponentChildren;
}

function Cell({ name, span, wide, children }: CellProps) {
  return (
    <div class={wide ? 'wide' : undefined} style={{ '--span': span }}>
      <dt>{name}</dt>
      <dd>{children}</dd>
    </div>
  );
}
