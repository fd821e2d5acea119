import { useEffect, useMemo } from 'preact/hooks';
import { seg } from '../../api.ts';
import { formatSize } from '../../format.ts';
import { EditText } from '../../parts/edit-text.tsx';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { SheetLinks } from '../../parts/sheet-links.tsx';
import { navigate } from '../../router.ts';
import { commonTexts } from '../../texts/common.ts';
import { units } from '../../units.ts';
import { createLineModel, type LineModel } from './line-model.ts';
import { LinePictures } from './line-pictures.tsx';
import { PositionTable } from './position-table.tsx';
import { RangeTable } from './range/range-table.tsx';
import { RulesSection } from './rules/rules-section.tsx';

/** A line: its positions, its range, and the products it is sold in. */
export function LinePage({ code }: { readonly code: string }) {
  const model = useMemo(() => createLineModel(code), [code]);
  useEffect(() => {
    void model.load();
    return () => model.pictures.close();
  }, [model]);
  const line = model.line.value;
  return (
    <>
      <div class="title-line">
        <Heading text={line?.name ?? code} also="Line" />
        <p class="soft small" role="status">
          {model.said.value}
        </p>
      </div>
      {/* an open row says it where one is looking */}
      <Notice text={model.open.value === null ? model.trouble.value : null} />
      {line && (
        <>
          <dl class="title-block">
            <div style={{ '--span': 3 }}>
              <dt>Code</dt>
              <dd class="code strong">{line.line}</dd>
            </div>
            <div style={{ '--span': 9 }}>
              <dt>Name</dt>
              <dd>
                <EditText
                  label="Name"
                  value={line.name}
                  onCommit={(name) => void model.edit((now) => ({ ...now, name }))}
                />
              </dd>
            </div>
          </dl>
          <LineProducts model={model} />
          <PositionTable model={model} />
          <RangeTable model={model} />
          <SheetLinks label="Colour card to print" address={`/api/lines/${seg(line.line)}/colour-card.pdf`} />
          <RulesSection model={model} />
          <LinePictures model={model} />
          {model.products.value.length === 0 && (
            <p class="no-print">
              <button
                type="button"
                onClick={async () => {
                  if (await model.remove()) navigate('/');
                }}
              >
                Remove this line
              </button>{' '}
              <span class="soft">No product belongs to it.</span>
            </p>
          )}
        </>
      )}
    </>
  );
}

function LineProducts({ model }: { readonly model: LineModel }) {
  const products = model.products.value;
  return (
    <section>
      <div class="section-head">
        <h2>Products</h2>
        {products.length === 0 && <p class="small">None yet. Add one on the page of lines and products.</p>}
      </div>
      {products.length > 0 && (
        <table>
          <thead>
            <tr>
              <th scope="col">Product</th>
              <th scope="col">Code</th>
              <th scope="col">Size</th>
              <th scope="col">Verdict</th>
              <th scope="col" class="figure">
                Variants
              </th>
            </tr>
          </thead>
          <tbody>
            {products.map((product) => (
              <tr key={product.code}>
                <th scope="row">
                  <a class="button" href={`/products/${seg(product.code)}`}>
                    {product.name}
                  </a>
                </th>
                <td class="code">{product.code}</td>
                <td>{product.sheet ? formatSize(product.sheet, units.value) : 'not on the sheet'}</td>
                <td>{commonTexts.verdict(product.verdict, product.model !== null)}</td>
                <td class="figure">{product.variants}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}
