import { listFrameSizes } from '../../../server/core/picture/measure-frame.ts';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import { TextField } from '../../parts/text-field.tsx';
import { readForm, type SetForm } from './set-form.ts';

interface SizeFieldsProps {
  readonly form: SetForm;
  readonly change: (part: Partial<SetForm>) => void;
}

/** How large the files are. */
export function SizeFields({ form, change }: SizeFieldsProps) {
  return (
    <div class="form">
      <Field name="Size">
        <Select
          label="Size"
          value={form.sizing}
          options={[
            ['squares', 'Squares, in pixels'],
            ['pixels', 'Width and height, in pixels'],
            ['print', 'Printed, in mm'],
          ]}
          onPick={(sizing) => change({ sizing })}
        />
      </Field>
      {form.sizing === 'squares' && (
        <TextField name="Sides, px" value={form.sizes} figure onInput={(sizes) => change({ sizes })} />
      )}
      {form.sizing === 'pixels' && (
        <>
          <TextField name="Width, px" value={form.widthPx} figure onInput={(widthPx) => change({ widthPx })} />
          <TextField name="Height, px" value={form.heightPx} figure onInput={(heightPx) => change({ heightPx })} />
        </>
      )}
      {form.sizing === 'print' && <PrintFields form={form} change={change} />}
    </div>
  );
}

function PrintFields({ form, change }: SizeFieldsProps) {
  const read = readForm({ ...form, code: 'set', name: 'Set' });
  const [size] = 'set' in read ? listFrameSizes(read.set.frame) : [];
  return (
    <>
      <TextField name="Width, mm" value={form.widthMm} figure onInput={(widthMm) => change({ widthMm })} />
      <TextField name="Height, mm" value={form.heightMm} figure onInput={(heightMm) => change({ heightMm })} />
      <TextField name="Pixels to the inch" value={form.ppi} figure onInput={(ppi) => change({ ppi })} />
      <TextField name="Bleed on each edge, mm" value={form.bleedMm} figure onInput={(bleedMm) => change({ bleedMm })} />
      {size && (
        <p class="small soft whole">
          That is {size.widthPx} × {size.heightPx} px with the bleed.
        </p>
      )}
    </>
  );
}
