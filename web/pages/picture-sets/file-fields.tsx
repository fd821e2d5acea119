import { listFrameSizes, SET_FORMATS, SET_SHADOWS } from '../../../server/core/picture/picture-set.ts';
import { Field, Select, TextField } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { pictureSetsTexts as texts } from '../../texts/pictures.ts';
import { isLossy, readForm, type SetForm } from './set-form.ts';

interface FileFieldsProps {
  readonly form: SetForm;
  readonly change: (part: Partial<SetForm>) => void;
}

/** Size, format, background and shadow of the files. */
export function FileFields({ form, change }: FileFieldsProps) {
  return (
    <>
      <SizeFields form={form} change={change} />
      <div class="form">
        <Field name={commonTexts.format}>
          <Select
            label={commonTexts.format}
            value={form.format}
            options={SET_FORMATS.map((format) => [format, texts.formats[format]])}
            onPick={(format) => change({ format })}
          />
        </Field>
        {isLossy(form) && (
          <TextField
            name={texts.quality}
            value={form.quality}
            placeholder="90"
            figure
            onInput={(quality) => change({ quality })}
          />
        )}
        <Field name={texts.columns.background}>
          <Select
            label={texts.columns.background}
            value={form.ground}
            options={(['white', 'transparent', 'colour'] as const).map((ground) => [ground, texts.backgrounds[ground]])}
            onPick={(ground) => change({ ground })}
          />
        </Field>
        {form.ground === 'colour' && (
          <TextField name={texts.backgroundHex} value={form.hex} onInput={(hex) => change({ hex })} />
        )}
        {form.of === 'variants' && (
          <Field name={texts.shadow}>
            <Select
              label={texts.shadow}
              value={form.shadow}
              options={SET_SHADOWS.map((shadow) => [shadow, texts.shadows[shadow]])}
              onPick={(shadow) => change({ shadow })}
            />
          </Field>
        )}
      </div>
    </>
  );
}

function SizeFields({ form, change }: FileFieldsProps) {
  return (
    <div class="form">
      <Field name={texts.sizing}>
        <Select
          label={texts.sizing}
          value={form.sizing}
          options={(['squares', 'pixels', 'print'] as const).map((sizing) => [sizing, texts.sizings[sizing]])}
          onPick={(sizing) => change({ sizing })}
        />
      </Field>
      {form.sizing === 'squares' && (
        <TextField name={texts.sidesPx} value={form.sizes} figure onInput={(sizes) => change({ sizes })} />
      )}
      {form.sizing === 'pixels' && (
        <>
          <TextField name={texts.widthPx} value={form.widthPx} figure onInput={(widthPx) => change({ widthPx })} />
          <TextField name={texts.heightPx} value={form.heightPx} figure onInput={(heightPx) => change({ heightPx })} />
        </>
      )}
      {form.sizing === 'print' && <PrintFields form={form} change={change} />}
    </div>
  );
}

function PrintFields({ form, change }: FileFieldsProps) {
  const read = readForm({ ...form, code: 'set', name: 'Set' });
  const [size] = 'set' in read ? listFrameSizes(read.set.frame) : [];
  return (
    <>
      <TextField name={texts.widthMm} value={form.widthMm} figure onInput={(widthMm) => change({ widthMm })} />
      <TextField name={texts.heightMm} value={form.heightMm} figure onInput={(heightMm) => change({ heightMm })} />
      <TextField name={texts.ppi} value={form.ppi} figure onInput={(ppi) => change({ ppi })} />
      <TextField name={texts.bleedMm} value={form.bleedMm} figure onInput={(bleedMm) => change({ bleedMm })} />
      {size && <p class="small soft whole">{texts.printPixels(size.widthPx, size.heightPx)}</p>}
    </>
  );
}
