import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { CODE_PATTERN, toKey } from '../../../server/core/codes.ts';
import { CLASSES } from '../../../server/core/product/product.ts';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import { call, getErrorMessage, seg } from '../../api.ts';
import { formatBytes, formatKey, formatSize } from '../../format.ts';
import { DropLine } from '../../parts/drop-line.tsx';
import { Field, Notice, Select, takeFocus } from '../../parts/form.tsx';
import { navigate } from '../../router.ts';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts } from '../../texts/home.ts';
import { units } from '../../units.ts';
import type { AddProductModel, AddStep } from './add-product-model.ts';

interface AddProductProps {
  readonly model: AddProductModel;
  readonly lines: LineListAnswer['lines'];
}

/** A place to drop a model. What becomes of it shows in the same place: a form for the product, the progress, the result. */
export function AddProduct({ model, lines }: AddProductProps) {
  const draft = model.draft.value;
  const step = model.step.value;
  return (
    <section class="no-print adding-product" aria-label={homeTexts.addProduct}>
      <DropLine
        text={draft ? homeTexts.dropAnother(draft.file.name) : homeTexts.dropModel}
        button={draft ? homeTexts.chooseAnother : commonTexts.chooseFile}
        onFile={(file) => model.chooseFile(file, '')}
      >
        {model.problem.value && (
          <p class="notice arrives" role="alert" key={model.problem.value} ref={takeFocus} tabIndex={-1}>
            {model.problem.value}
          </p>
        )}
        {draft && <ProductForm key={draft.file} model={model} draft={draft} lines={lines} />}
        {step.step === 'done' && <Added step={step} />}
      </DropLine>
    </section>
  );
}

interface ProductFormProps extends AddProductProps {
  readonly draft: NonNullable<AddProductModel['draft']['value']>;
}

function ProductForm({ model, draft, lines }: ProductFormProps) {
  const step = model.step.value;
  const isBusy = step.step === 'sending' || step.step === 'surveying';
  return (
    <form
      class="adding arrives"
      onSubmit={(event) => {
        event.preventDefault();
        if (!isBusy) void model.send();
      }}
    >
      <h2 ref={takeFocus} tabIndex={-1}>
        {homeTexts.newProduct(draft.file.name)} <small class="soft">{formatBytes(draft.file.size)}</small>
      </h2>
      <fieldset class="form" disabled={isBusy}>
        <Field name={commonTexts.code}>
          <input
            value={draft.code}
            required
            pattern={CODE_PATTERN.slice(1, -1).replace('._-]', '._\\-]')}
            title={homeTexts.codeHint}
            onInput={(event) => model.change({ code: event.currentTarget.value.trim() })}
          />
        </Field>
        <Field name={commonTexts.name}>
          <input
            value={draft.name}
            dir="auto"
            required
            maxLength={120}
            onInput={(event) => model.change({ name: event.currentTarget.value })}
          />
        </Field>
        <Field name={commonTexts.line}>
          <Select
            label={commonTexts.line}
            value={draft.line}
            options={[...lines.map(({ line, name }) => [line, name] as const), ['', commonTexts.noLine]]}
            onPick={(line) => model.change({ line })}
          />
        </Field>
        <Field name={homeTexts.classField}>
          <Select
            label={homeTexts.classField}
            value={draft.class}
            options={CLASSES.map((value) => [value, value === 'none' ? commonTexts.noClass : formatKey(value)])}
            onPick={(value) => model.change({ class: value })}
          />
        </Field>
      </fieldset>
      {isBusy ? (
        <Progress step={step} />
      ) : (
        <div class="actions">
          <button type="submit" class="main">
            {homeTexts.addProduct}
          </button>
          <button
            type="button"
            onClick={(event) => {
              const place = event.currentTarget.closest('.drop');
              model.cancel();
              place?.querySelector<HTMLElement>('button')?.focus();
            }}
          >
            {commonTexts.cancel}
          </button>
        </div>
      )}
    </form>
  );
}

function Progress({ step }: { readonly step: AddStep }) {
  return (
    <p ref={takeFocus} tabIndex={-1} role="status">
      {step.step === 'sending' ? (
        <>
          {commonTexts.uploading(step.share)}
          <progress aria-label={commonTexts.uploaded} value={step.share} />
        </>
      ) : (
        homeTexts.measuring
      )}
    </p>
  );
}

/** The new product: its measured size, and what the check found. */
function Added({ step: { code, name, model } }: { readonly step: Extract<AddStep, { step: 'done' }> }) {
  const { size } = model.survey;
  const count = (severity: string) => model.findings.filter((finding) => finding.severity === severity).length;
  return (
    <div class="adding arrives">
      <p role="status" class="measure">
        <span class="strong">{homeTexts.added(name, size && formatSize(size, units.value), model.slots.length)}</span>{' '}
        {homeTexts.findings(count('error'), count('warning'))}
      </p>
      <p class="actions">
        <a class="button" ref={takeFocus} href={`/products/${seg(code)}`}>
          {homeTexts.openProduct(name)}
        </a>
      </p>
    </div>
  );
}

/** Adds a line: asks its name, derives the code, then opens its page. */
export function AddLine({ existing }: { readonly existing: readonly string[] }) {
  const open = useSignal(false);
  const name = useSignal('');
  const problem = useSignal<string | null>(null);
  const code = toKey(name.value);
  const exists = existing.some((line) => line.toLowerCase() === code);
  const opener = useRef<HTMLButtonElement>(null);
  const wasOpen = useRef(false);
  useEffect(() => {
    // a form that closes gives the focus back
    if (wasOpen.current && !open.value) opener.current?.focus();
    wasOpen.current = open.value;
  }, [open.value]);
  if (!open.value) {
    return (
      <p class="no-print beginning">
        <button
          type="button"
          ref={opener}
          onClick={() => {
            open.value = true;
          }}
        >
          {homeTexts.addLine}
        </button>
      </p>
    );
  }
  return (
    <form
      class="adding arrives no-print beginning"
      onSubmit={async (event) => {
        event.preventDefault();
        try {
          await call('PUT', `/api/lines/${seg(code)}`, { json: { name: name.value }, ifMatch: null });
          navigate(`/lines/${seg(code)}`);
        } catch (error) {
          problem.value = getErrorMessage(error);
        }
      }}
    >
      <div class="form">
        <Field name={homeTexts.lineName}>
          <input
            ref={takeFocus}
            value={name.value}
            dir="auto"
            required
            maxLength={120}
            onInput={(event) => {
              name.value = event.currentTarget.value;
            }}
          />
        </Field>
        <p class="soft small" role="status">
          {exists ? homeTexts.lineExists(code) : code && homeTexts.lineCode(code)}
        </p>
      </div>
      <div class="actions">
        <button type="submit" class="main" disabled={code === '' || exists}>
          {homeTexts.addLine}
        </button>
        <button
          type="button"
          onClick={() => {
            open.value = false;
          }}
        >
          {commonTexts.cancel}
        </button>
      </div>
      <Notice text={problem.value} />
    </form>
  );
}
