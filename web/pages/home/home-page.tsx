import { useEffect, useMemo } from 'preact/hooks';
import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import { seg } from '../../api.ts';
import { Field, Notice, Select } from '../../parts/form.tsx';
import { Picture } from '../../parts/picture.tsx';
import { Plate } from '../../parts/plate.tsx';
import { Heading } from '../../parts/shell.tsx';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts as texts } from '../../texts/home.ts';
import { AddLine, AddProduct } from './add-forms.tsx';
import { createAddProductModel } from './add-product-model.ts';
import { createHomeModel, EVERYTHING, type HomeModel } from './home-model.ts';
import { ImportLine } from './import-line.tsx';

/** The demo arrives after the service has started, so an empty or incomplete list is loaded again, for a while. */
const RELOAD_MS = 3000;
const RELOADS = 60;

/** The home page: what the program does, a place for a new model, the lines, and the products. */
export function HomePage() {
  const model = useMemo(createHomeModel, []);
  const adding = useMemo(() => createAddProductModel(() => void model.load()), [model]);
  useEffect(() => {
    void model.load();
    let reloads = 0;
    const timer = setInterval(() => {
      const { products, isFiltered, busy } = model;
      if (document.hidden || isFiltered.value || busy.value || !products.value || ++reloads > RELOADS) return;
      if (products.value.length === 0 || products.value.some((product) => !product.model)) void model.load();
    }, RELOAD_MS);
    return () => clearInterval(timer);
  }, [model]);
  const lines = model.lines.value;
  const isNew = model.products.value?.length === 0 && !model.isFiltered.value;
  return (
    <>
      <Heading text={texts.heading} />
      <p class="lead measure">{texts.intro}</p>
      <AddProduct model={adding} lines={lines ?? []} />
      <Notice text={model.problem.value}>
        <button type="button" onClick={model.load}>
          {commonTexts.tryAgain}
        </button>
      </Notice>
      {lines && <Lines lines={lines} onImported={model.load} />}
      {model.products.value && (
        <section>
          <div class="section-head">
            <h2>{texts.products}</h2>
            <p class="small">{isNew ? texts.empty : null}</p>
          </div>
          {!isNew && <Filters model={model} />}
          <Products model={model} />
        </section>
      )}
    </>
  );
}

interface LinesProps {
  readonly lines: NonNullable<HomeModel['lines']['value']>;
  readonly onImported: () => void;
}

function Lines({ lines, onImported }: LinesProps) {
  return (
    <section>
      <div class="section-head">
        <h2>{texts.lines}</h2>
        <p class="small">{lines.length === 0 ? texts.noLines : texts.linesNote}</p>
      </div>
      {lines.length > 0 && (
        <ul class="line-list">
          {lines.map(({ line, name, range }) => (
            <li key={line}>
              <a href={`/lines/${seg(line)}`} dir="auto">
                {name}
              </a>{' '}
              <small class="soft">
                <span class="code">{line}</span>, {texts.rangeSize(range.length)}
              </small>
            </li>
          ))}
        </ul>
      )}
      <AddLine existing={lines.map(({ line }) => line)} />
      <ImportLine onImported={onImported} />
    </section>
  );
}

function Filters({ model }: { readonly model: HomeModel }) {
  const { q, line, attention, outdated } = model.filter.value;
  const lines = model.lines.value ?? [];
  return (
    <search class="product-filter no-print">
      <Field name={texts.search}>
        <input
          type="search"
          value={q}
          maxLength={200}
          spellcheck={false}
          autocomplete="off"
          onInput={(event) => model.change({ q: event.currentTarget.value })}
        />
      </Field>
      <Field name={commonTexts.line}>
        <Select
          label={commonTexts.line}
          value={line === null ? ANY_LINE : line}
          options={[
            [ANY_LINE, texts.allLines],
            ...lines.map(({ line, name }) => [line, name] as const),
            ['', texts.withoutLine],
          ]}
          onPick={(picked) => model.change({ line: picked === ANY_LINE ? null : picked })}
        />
      </Field>
      <fieldset>
        <legend class="unseen">{texts.show}</legend>
        <label class="tick">
          <input
            type="checkbox"
            checked={attention}
            onChange={(event) => model.change({ attention: event.currentTarget.checked })}
          />
          {texts.attention}
        </label>
        <label class="tick">
          <input
            type="checkbox"
            checked={outdated}
            onChange={(event) => model.change({ outdated: event.currentTarget.checked })}
          />
          {texts.outdated}
        </label>
      </fieldset>
    </search>
  );
}

/** No code of a line. */
const ANY_LINE = '*';

function Products({ model }: { readonly model: HomeModel }) {
  const products = model.products.value!;
  const lines = new Map(model.lines.value?.map(({ line, name }) => [line, name]));
  return (
    <>
      <p class="soft" role="status">
        {model.isFiltered.value && !model.busy.value && texts.found(products.length, model.next.value !== null)}
      </p>
      {model.isFiltered.value && products.length === 0 && (
        <p class="no-print">
          <button type="button" onClick={() => model.change(EVERYTHING)}>
            {texts.showAll}
          </button>
        </p>
      )}
      <ul class="plates" aria-busy={model.busy.value}>
        {products.map((product) => (
          <ProductPlate key={product.code} product={product} lines={lines} />
        ))}
      </ul>
      {model.next.value !== null && (
        <p class="total no-print">
          <button type="button" onClick={() => void model.showMore()}>
            {texts.showMore}
          </button>
        </p>
      )}
    </>
  );
}

interface ProductPlateProps {
  readonly product: ProductAnswer;
  /** Names of the lines by code. */
  readonly lines: ReadonlyMap<string, string>;
}

/** A product: its picture, which fills its frame, and its main facts. */
function ProductPlate({ product, lines }: ProductPlateProps) {
  return (
    <Plate
      product={product}
      variantsName={texts.schedule}
      picture={
        product.picture ? (
          <span class="stand">
            <Picture
              address={product.picture}
              alt={texts.pictureAlt(product.name)}
              version={`${product.model?.revision} ${product.defaultVariant}`}
            />
          </span>
        ) : (
          <span class="stand bare small soft">{texts.noPicture}</span>
        )
      }
    >
      {product.line !== null && (
        <>
          <dt>{commonTexts.line}</dt>
          <dd>
            <a href={`/lines/${seg(product.line)}`}>
              <bdi>{lines.get(product.line) ?? product.line}</bdi>
            </a>
          </dd>
        </>
      )}
    </Plate>
  );
}
