import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { VariantStandingsAnswer } from '../../../server/http/contracts/approval.ts';
import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import type { ScheduleAnswer } from '../../../server/http/contracts/schedule.ts';
import { get, getErrorMessage, seg } from '../../api.ts';
import { Approvals } from '../../parts/approvals.tsx';
import { Field, Notice, Select } from '../../parts/form.tsx';
import { Picture } from '../../parts/picture.tsx';
import { approvalTexts } from '../../texts/approvals.ts';
import { commonTexts } from '../../texts/common.ts';
import { lineTexts } from '../../texts/line.ts';
import type { LineModel } from './line-model.ts';

const texts = lineTexts.approvals;

/** Decisions on the variants of the line's products: choose a product and a variant, look at it, and decide. */
export function VariantApprovals({ model }: { readonly model: LineModel }) {
  const offered = model.products.value.filter(({ variants }) => variants > 0);
  const chosen = useSignal('');
  const product = offered.find(({ code }) => code === chosen.value) ?? null;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{offered.length === 0 ? texts.noVariants : texts.note}</p>
      </div>
      {offered.length > 0 && (
        <div class="form">
          <Field name={commonTexts.product}>
            <Select
              label={texts.product}
              value={product?.code ?? ''}
              options={[
                ['', texts.choose] as const,
                ...offered.map(({ code, name }) => [code, `${name}, ${code}`] as const),
              ]}
              onPick={(code) => {
                chosen.value = code;
              }}
            />
          </Field>
        </div>
      )}
      {product && <OfProduct key={product.code} product={product} />}
    </section>
  );
}

function OfProduct({ product }: { readonly product: ProductAnswer }) {
  const variants = useSignal<ScheduleAnswer['variants'] | null>(null);
  const standings = useSignal<VariantStandingsAnswer['variants']>([]);
  const chosen = useSignal('');
  const problem = useSignal<string | null>(null);
  const path = `/api/products/${seg(product.code)}`;
  const load = async () => {
    try {
      const [schedule, decided] = await Promise.all([
        get<ScheduleAnswer>(`${path}/schedule`),
        get<VariantStandingsAnswer>(`${path}/approvals`),
      ]);
      variants.value = schedule.variants;
      standings.value = decided.variants;
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  };
  useEffect(() => void load(), []);
  const states = new Map(standings.value.map(({ variant, state }) => [variant.toLowerCase(), state]));
  const mark = (code: string) => {
    const state = states.get(code.toLowerCase());
    return state === undefined || state === 'none' ? texts.undecided : approvalTexts.marks[state];
  };
  const variant = variants.value?.find(({ code }) => code === chosen.value) ?? null;
  return (
    <>
      <Notice text={problem.value} />
      {variants.value && (
        <div class="form variant-choice">
          <Field name={texts.variant}>
            <Select
              label={texts.variant}
              value={chosen.value}
              options={[
                ['', texts.choose] as const,
                ...variants.value.map(({ code, name }) => [code, `${name}, ${code}: ${mark(code)}`] as const),
              ]}
              onPick={(code) => {
                chosen.value = code;
              }}
            />
          </Field>
          <p class="soft" role="status">
            {texts.summary(standings.value.filter(({ state }) => state === 'approved').length, variants.value.length)}
          </p>
        </div>
      )}
      {variant && (
        <div class="variant-decision">
          <Picture
            address={`${path}/pictures/${seg(variant.code)}.webp`}
            alt={variant.name}
            version={`${product.model?.revision} ${variant.code}`}
          />
          <Approvals
            key={variant.code}
            path={`${path}/variants/${seg(variant.code)}/approvals`}
            revision={variant.code}
            onRecord={() => void load()}
          />
        </div>
      )}
    </>
  );
}
