import { listFrameSizes } from '../../../server/core/picture/measure-frame.ts';
import { SET_FORMATS } from '../../../server/core/picture/picture-set.ts';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import { TextField } from '../../parts/text-field.tsx';
import { readForm, type SetForm } from './set-form.ts';

interface SizeFieldsProps {
  readonly form: SetForm;
  readonly change: (part: Partial<SetForm>) => void;
}

const FORMAT_WORDS = {
  jpg: 'JPEG',
  png: 'PNG, without loss',
  webp: 'WebP',
  tiff: 'TIFF, without loss',
} as const;

/** How large the files are, and in which format. */
export function SizeFields({ form, change }: SizeFieldsProps) {
  const lossy = form.format === 'jpg' || form.format === 'webp';
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
      <Field name="Format">
        <Select
          label="Format"
          value={form.format}
          options={SET_FORMATS.map((format) => [format, FORMAT_WORDS[format]])}
          onPick={(format) => change({ format })}
        />
      </Field>
      {lossy && (
        <TextField
          name="Quality, 1 to 100"
          value={form.quality}
          instead="90"
          figure
          onInput={(quality) => change({ quality })}
        />
      )}
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
