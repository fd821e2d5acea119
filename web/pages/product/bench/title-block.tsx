import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useRef } from 'preact/hooks';
import { MOUNTS } from '../../../../server/core/picture/picture.ts';
import { CLASSES, type Sheet } from '../../../../server/core/product/product.ts';
import { formatBytes, formatKey, formatSize } from '../../../format.ts';
import { EditText, Select } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { productTexts } from '../../../texts/product.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';

const texts = productTexts.titleBlock;

/** The main facts of a product, as fields to edit, in the manner of a drawing's title block. */
export function TitleBlock({ model }: { readonly model: ProductModel }) {
  const product = model.product.value;
  if (!product) return null;
  const size = model.survey.value?.size;
  const budget = model.budgets.value.find(({ name }) => name === product.budget);
  return (
    <dl class="title-block">
      <Cell name={texts.sheetSize} span={6}>
        <SheetSize sheet={product.sheet} onCommit={(sheet) => void model.change({ sheet })} />
      </Cell>
      <Cell name={texts.measuredSize} span={6}>
        {size ? formatSize(size, units.value) : commonTexts.notKnown}
        {model.survey.value?.sizeIsExact === false && texts.upperBound}
      </Cell>
      <Cell name={commonTexts.name} span={5}>
        <EditText label={commonTexts.name} value={product.name} onCommit={(name) => void model.change({ name })} />
      </Cell>
      <Cell name={commonTexts.line} span={4}>
        <Select
          label={commonTexts.line}
          value={product.line ?? ''}
          options={[...model.lines.value.map(({ line, name }) => [line, name] as const), ['', commonTexts.noLine]]}
          onPick={(line) => void model.change({ line: line === '' ? null : line })}
        />
      </Cell>
      <Cell name={commonTexts.class} span={3}>
        <Select
          label={commonTexts.class}
          value={product.class}
          options={CLASSES.map((value) => [value, value === 'none' ? commonTexts.noClass : formatKey(value)])}
          onPick={(value) => void model.change({ class: value })}
        />
      </Cell>
      <Cell name={texts.model} span={5}>
        {product.model ? texts.revision(product.model.revision, formatBytes(product.model.bytes)) : commonTexts.noneYet}
      </Cell>
      <Cell name={texts.mount} span={4}>
        <Select
          label={texts.mount}
          value={product.mount}
          options={MOUNTS.map((mount) => [mount, formatKey(mount)])}
          onPick={(mount) => void model.change({ mount })}
        />
      </Cell>
      <Cell name={texts.verdict} span={3}>
        <span class="strong">{commonTexts.verdict(product.verdict, product.model !== null)}</span>
      </Cell>
      <Cell name={texts.budget} span={12} wide>
        <Select
          label={texts.budget}
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
  /** Width in columns, of twelve. */
  readonly span: number;
  /** Takes the whole line on a narrow screen. */
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

interface SheetSizeProps {
  readonly sheet: Sheet | null;
  readonly onCommit: (sheet: Sheet | null) => void;
}

const SIDES = ['widthMm', 'depthMm', 'heightMm'] as const;

/** The three dimensions of the data sheet. They are saved once all are filled in, or all are empty. */
function SheetSize({ sheet, onCommit }: SheetSizeProps) {
  const place = useRef<HTMLSpanElement>(null);
  /** Kept until all three are there: the page may be drawn again while someone types. */
  const typed = useSignal<Partial<Record<(typeof SIDES)[number], string>>>({});
  const commit = () => {
    const values = [...(place.current?.querySelectorAll('input') ?? [])].map((input) => input.valueAsNumber);
    const [widthMm, depthMm, heightMm] = values;
    if (values.every(Number.isNaN)) {
      typed.value = {};
      if (sheet) onCommit(null);
    } else if (values.every((value) => value > 0)) {
      typed.value = {};
      onCommit({ widthMm: widthMm!, depthMm: depthMm!, heightMm: heightMm! });
    }
  };
  return (
    <span class="three" ref={place}>
      {SIDES.map((side) => (
        <input
          key={side}
          type="number"
          min="0.1"
          step="any"
          aria-label={texts.sheetSide[side]}
          value={typed.value[side] ?? sheet?.[side] ?? ''}
          onInput={(event) => {
            typed.value = { ...typed.value, [side]: event.currentTarget.value };
          }}
          onChange={commit}
        />
      ))}
    </span>
  );
}
