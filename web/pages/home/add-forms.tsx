import { useSignal } from '@preact/signals';
import { CODE_PATTERN, toKey } from '../../../server/core/codes.ts';
import { CLASSES } from '../../../server/core/product/product.ts';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import { call, getErrorMessage, seg } from '../../api.ts';
import { formatBytes, formatKey } from '../../format.ts';
import { DropLine } from '../../parts/drop-line.tsx';
import { Field, Notice, Select } from '../../parts/form.tsx';
import { navigate } from '../../router.ts';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts } from '../../texts/home.ts';
import type { AddProductModel, AddStep } from './add-product-model.ts';

interface AddProductProps {
  readonly model: AddProductModel;
  readonly lines: LineListAnswer['lines'];
}

/** A place to drop a model, and then a form for the new product. */
export function AddProduct({ model, lines }: AddProductProps) {
  const draft = model.draft.value;
  const step = model.step.value;
  const isBusy = step.step === 'sending' || step.step === 'surveying';
  return (
    <section class="no-print" aria-label={homeTexts.addProduct}>
      {!draft && (
        <DropLine
          text={homeTexts.dropModel}
          button={commonTexts.chooseFile}
          onFile={(file) => model.chooseFile(file, lines[0]?.line ?? '')}
        />
      )}
      {draft && (
        <form
          class="adding arrives"
          onSubmit={(event) => {
            event.preventDefault();
            void model.send();
          }}
        >
          <h2>
            {homeTexts.newProduct(draft.file.name)} <small class="soft">{formatBytes(draft.file.size)}</small>
          </h2>
          <div class="form">
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
                label={commonTexts.class}
                value={draft.class}
                options={CLASSES.map((value) => [value, value === 'none' ? commonTexts.noClass : formatKey(value)])}
                onPick={(value) => model.change({ class: value })}
              />
            </Field>
          </div>
          <div class="actions">
            <button type="submit" class="main" disabled={isBusy}>
              {homeTexts.addProduct}
            </button>
            <button type="button" disabled={isBusy} onClick={model.cancel}>
              {commonTexts.cancel}
            </button>
          </div>
          <Progress step={step} />
        </form>
      )}
      <Notice text={model.problem.value} />
    </section>
  );
}

function Progress({ step }: { readonly step: AddStep }) {
  if (step.step === 'sending') {
    return (
      <p role="status">
        {commonTexts.uploading(step.share)}
        <progress aria-label={commonTexts.uploaded} value={step.share} />
      </p>
    );
  }
  return step.step === 'surveying' ? <p role="status">{homeTexts.measuring}</p> : null;
}

/** Adds a line: asks its name, derives the code, then opens its page. */
export function AddLine({ existing }: { readonly existing: readonly string[] }) {
  const open = useSignal(false);
  const name = useSignal('');
  const problem = useSignal<string | null>(null);
  const code = toKey(name.value);
  const exists = existing.some((line) => line.toLowerCase() === code);
  if (!open.value) {
    return (
      <p class="no-print beginning">
        <button
          type="button"
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
            value={name.value}
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
