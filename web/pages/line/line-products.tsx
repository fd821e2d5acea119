import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { ProductAnswer, ProductListAnswer } from '../../../server/http/contracts/product.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { Field, Notice } from '../../parts/form.tsx';
import { Picture } from '../../parts/picture.tsx';
import { Plate } from '../../parts/plate.tsx';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts } from '../../texts/home.ts';
import { lineTexts } from '../../texts/line.ts';
import type { LineModel } from './line-model.ts';
import { type Placement, planScale } from './plan-scale.ts';

const texts = lineTexts.products;

/** The products of the line at one scale, and a way to bring others into it. */
export function LineProducts({ model }: { readonly model: LineModel }) {
  const products = model.products.value;
  const placements = planScale(products.map((product) => product.sheet ?? product.size));
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{products.length === 0 ? texts.none : products.length > 1 && texts.oneScale}</p>
      </div>
      <ul class="plates">
        {products.map((product, at) => (
          <ProductPlate key={product.code} product={product} placement={placements[at]!} />
        ))}
      </ul>
      <AddProducts model={model} />
    </section>
  );
}

/** A product on the common floor of the line. */
function ProductPlate({ product, placement }: { readonly product: ProductAnswer; readonly placement: Placement }) {
  return (
    <Plate
      product={product}
      variantsName={commonTexts.variants}
      sizeNote={placement.enlarged > 1.02 && texts.enlarged(placement.enlarged)}
      picture={
        <span class="floor">
          <span
            class="standing"
            style={{ width: `${placement.share * 100}%`, marginBottom: `${-placement.foot * placement.share * 100}%` }}
          >
            {product.picture && (
              <Picture
                address={product.picture}
                alt={homeTexts.pictureAlt(product.name)}
                version={`${product.model?.revision} ${product.defaultVariant}`}
              />
            )}
          </span>
        </span>
      }
    />
  );
}

/** The first products that match and are not here. The first hits may all be in the line already. */
async function findOthers(
  words: string,
  here: ReadonlySet<string>,
  signal: AbortSignal,
): Promise<readonly ProductAnswer[]> {
  const found: ProductAnswer[] = [];
  for (let after: number | undefined = 0; after !== undefined && found.length < MOST_FOUND; ) {
    const path = `/api/products?q=${encodeURIComponent(words)}&after=${after}`;
    const page: ProductListAnswer = await get<ProductListAnswer>(path, signal);
    found.push(...page.products.filter(({ code }) => !here.has(code)));
    after = page.next;
  }
  return found.slice(0, MOST_FOUND);
}

/** Most pauses between two typed letters are shorter. */
const PAUSE_MS = 200;
/** Fewer than fit a screen. */
const MOST_FOUND = 12;

/** Brings existing products into the line: search, then add. A product of another line leaves that one. */
function AddProducts({ model }: { readonly model: LineModel }) {
  const typed = useSignal('');
  const found = useSignal<readonly ProductAnswer[] | null>(null);
  const problem = useSignal<string | null>(null);
  const outcome = useSignal<string | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const line = model.line.value!.line;
  useEffect(() => {
    const words = typed.value.trim();
    if (words === '') {
      found.value = null;
      return;
    }
    const abort = new AbortController();
    const timer = setTimeout(async () => {
      try {
        const here = new Set(model.products.value.map(({ code }) => code));
        found.value = await findOthers(words, here, abort.signal);
        problem.value = null;
      } catch (error) {
        if (!abort.signal.aborted) problem.value = getErrorMessage(error);
      }
    }, PAUSE_MS);
    return () => {
      clearTimeout(timer);
      abort.abort();
    };
  }, [typed.value, model.products.value]);

  const add = async ({ code, name }: ProductAnswer) => {
    // the row of the button goes
    field.current?.focus();
    try {
      await call('PATCH', `/api/products/${seg(code)}`, { json: { line } });
      await model.load();
      problem.value = null;
      outcome.value = texts.added(name);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  };
  const others = found.value;
  return (
    <div class="pulling no-print">
      <Field name={texts.bring}>
        <input
          ref={field}
          type="search"
          value={typed.value}
          maxLength={200}
          spellcheck={false}
          autocomplete="off"
          onInput={(event) => {
            typed.value = event.currentTarget.value;
            outcome.value = null;
          }}
        />
      </Field>
      <p class="small soft" role="status">
        {outcome.value ?? (others?.length === 0 ? texts.noneFound : null)}
      </p>
      <Notice text={problem.value} />
      {others && others.length > 0 && (
        <ul>
          {others.map((product) => (
            <li key={product.code} class="actions">
              <span>
                <bdi>{product.name}</bdi> <span class="code soft">{product.code}</span>
                {product.line !== null && <span class="small soft"> {texts.leaves(product.line)}</span>}
              </span>
              <button type="button" aria-label={texts.addNamed(product.name)} onClick={() => void add(product)}>
                {texts.add}
              </button>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
