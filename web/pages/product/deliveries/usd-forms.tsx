import { useSignal } from '@preact/signals';
import type { DeliveryAnswer } from '../../../../server/http/contracts/delivery.ts';
import { seg } from '../../../api.ts';
import { Field, Select } from '../../../parts/form.tsx';
import { usdTexts as texts } from '../../../texts/usd-forms.ts';
import { Download, Form } from './form-line.tsx';

interface UsdFormsProps {
  /** Address of the delivery. */
  readonly path: string;
  readonly files: DeliveryAnswer['files'];
  readonly variants: readonly { readonly code: string; readonly name: string }[];
  /** Code of the default variant. */
  readonly standard: string;
}

/** The forms of a delivery in USD: one variant for a room, and all variants for pipelines. */
export function UsdForms({ path, files, variants, standard }: UsdFormsProps) {
  const picked = useSignal<string | null>(null);
  const code = variants.some((variant) => variant.code === picked.value) ? picked.value! : standard;
  const find = (form: string) => files.find((file) => file.form === form);
  const [one, all] = [find(`variants/${code}.usdz`), find('product.usdz')];
  return (
    <>
      <Form
        name={texts.one.name}
        note={texts.one.note}
        bytes={one?.bytes ?? null}
        download={<Download href={`${path}/variants/${seg(code)}.usdz`} of={code} text={texts.get} />}
      >
        <Field inline name={texts.one.pick}>
          <Select
            label={texts.one.pick}
            value={code}
            options={variants.map((variant) => [variant.code, `${variant.name} (${variant.code})`] as const)}
            onPick={(next) => {
              picked.value = next;
            }}
          />
        </Field>
        <Losses file={one} />
      </Form>
      <Form
        name={texts.all.name}
        note={texts.all.note}
        bytes={all?.bytes ?? null}
        download={<Download href={`${path}/product.usdz`} of={texts.all.name} text={texts.get} />}
      >
        <Losses file={all} />
      </Form>
    </>
  );
}

/** What a file that was made has lost, with the materials. */
function Losses({ file }: { readonly file: DeliveryAnswer['files'][number] | undefined }) {
  const losses = (file?.details?.losses ?? []) as readonly { message: string; materials: readonly string[] }[];
  if (losses.length === 0) return null;
  return (
    <ul class="small soft">
      {losses.map(({ message, materials }) => (
        <li key={message}>
          {message} {materials.length > 0 && <span dir="auto">{texts.materials(materials)}</span>}
        </li>
      ))}
    </ul>
  );
}
