import { CODE_PATTERN } from '../../../server/core/codes.ts';
import { CLASSES } from '../../../server/core/product/product.ts';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import { formatBytes, formatKey } from '../../format.ts';
import { DropLine } from '../../parts/drop-line.tsx';
import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import type { AddProductModel, AddStep } from './add-product-model.ts';

interface AddProductProps {
  readonly model: AddProductModel;
  readonly lines: LineListAnswer['lines'];
}

/** Dropping a model, and the row that asks what the product is called. */
export function AddProduct({ model, lines }: AddProductProps) {
  const wanted = model.wanted.value;
  const step = model.step.value;
  const under = step.step === 'sending' || step.step === 'surveying';
  return (
    <section class="no-print" aria-label="Add a product">
      {!wanted && (
        <DropLine
          text="Drop a model here, or anywhere on this page, to add a product: GLB, a self-contained glTF, or a zip."
          button="Choose a file"
          onFile={(file) => model.take(file, lines[0]?.line ?? '')}
        />
      )}
      {wanted && (
        <form
          class="adding arrives"
          onSubmit={(event) => {
            event.preventDefault();
            void model.send();
          }}
        >
          <h2>
            A product from {wanted.file.name} <small class="soft">{formatBytes(wanted.file.size)}</small>
          </h2>
          <div class="form">
            <Field name="Code">
              <input
                value={wanted.code}
                required
                pattern={CODE_PATTERN.slice(1, -1).replace('._-]', '._\\-]')}
                title="Letters, figures, dot, underscore and hyphen; 64 characters at most"
                onInput={(event) => model.change({ code: event.currentTarget.value.trim() })}
              />
            </Field>
            <Field name="Name">
              <input
                value={wanted.name}
                required
                maxLength={120}
                onInput={(event) => model.change({ name: event.currentTarget.value })}
              />
            </Field>
            <Field name="Line">
              <Select
                label="Line"
                value={wanted.line}
                options={[...lines.map(({ line, name }) => [line, name] as const), ['', 'No line']]}
                onPick={(line) => model.change({ line })}
              />
            </Field>
            <Field name="Class, for what sizes are likely">
              <Select
                label="Class"
                value={wanted.class}
                options={CLASSES.map((value) => [value, value === 'none' ? 'None of these' : formatKey(value)])}
                onPick={(value) => model.change({ class: value })}
              />
            </Field>
          </div>
          <div class="actions">
            <button type="submit" class="main" disabled={under}>
              Add the product
            </button>
            <button type="button" disabled={under} onClick={model.giveUp}>
              Leave it
            </button>
          </div>
          <Progress step={step} />
        </form>
      )}
      <Notice text={model.trouble.value} />
    </section>
  );
}

function Progress({ step }: { readonly step: AddStep }) {
  if (step.step === 'sending') {
    return (
      <p role="status">
        Sending, {Math.round(step.share * 100)} %
        <progress aria-label="Sent" value={step.share} />
      </p>
    );
  }
  return step.step === 'surveying' ? <p role="status">Sent. The model is being read and measured.</p> : null;
}
