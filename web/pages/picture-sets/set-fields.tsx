import type { ComponentChildren } from 'preact';
import { GS1_CAVEAT } from '../../../server/core/picture/gs1-name.ts';
import { SWATCH_KINDS, VIEWS } from '../../../server/core/picture/picture.ts';
import { SET_FORMATS } from '../../../server/core/picture/picture-set.ts';
import type { PictureSetAnswer } from '../../../server/http/picture-answers.ts';
import { formatKey } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import { TextField } from '../../parts/text-field.tsx';
import type { PictureSetsModel } from './picture-sets-model.ts';
import { getDefaultNames, nameExample, type SetForm } from './set-form.ts';
import { SizeFields } from './size-fields.tsx';

interface SetFieldsProps {
  readonly model: PictureSetsModel;
  /** Null for a new set. */
  readonly before: PictureSetAnswer | null;
}

/** The sheet on which a set is written; what keeps it from being one is said while one writes. */
export function SetFields({ model, before }: SetFieldsProps) {
  const form = model.form.value;
  const { change } = model;
  const read = model.read.value;
  const begun = form.code !== '' && form.name !== '';
  const example = nameExample(form);
  return (
    <form
      class="set-form"
      onSubmit={(event) => {
        event.preventDefault();
        void model.save();
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') model.close();
      }}
    >
      <div class="form">
        {before === null && (
          <TextField
            name="Code"
            value={form.code}
            required
            maxLength={64}
            onInput={(code) => change({ code: code.trim() })}
          />
        )}
        <TextField name="Name" value={form.name} required onInput={(name) => change({ name })} />
        <Field name="Pictures of">
          <Select
            label="Pictures of"
            value={form.of}
            options={[
              ['variants', 'Every variant of the schedule'],
              ['finishes', 'Every finish in the schedule'],
            ]}
            onPick={(of) => change({ of })}
          />
        </Field>
        {form.of === 'variants' ? <ViewFields form={form} change={change} /> : <SwatchFields {...{ form, change }} />}
      </div>
      <SizeFields form={form} change={change} />
      <FileFields form={form} change={change} />
      <div class="form">
        <div class="whole">
          <TextField
            name="File names: {product} {line} {variant} {name} {finish} {view} {size} {format} {gtin} {index}"
            value={form.names}
            instead={getDefaultNames(form)}
            onInput={(names) => change({ names })}
          />
          {example !== null && <p class="small soft">Such as {example}</p>}
        </div>
        {form.of === 'variants' && (
          <Tick whole on={form.gs1Names} onTick={(gs1Names) => change({ gs1Names })}>
            GS1 names for variants with a GTIN
          </Tick>
        )}
        {form.of === 'variants' && form.gs1Names && <p class="small soft measure whole">{GS1_CAVEAT}</p>}
      </div>
      <div class="set-end">
        {begun && 'trouble' in read && (
          <p class="measure" role="status">
            {read.trouble}
          </p>
        )}
        <div class="actions">
          <button type="submit" class="main" disabled={model.busy.value || 'trouble' in read}>
            {before === null ? 'Add the set' : before.ready ? 'Save in the place of the ready one' : 'Save the set'}
          </button>
          <button type="button" onClick={model.close}>
            Close
          </button>
          {before && (
            <button type="button" onClick={model.copy}>
              Write a new one like it
            </button>
          )}
          {before && !before.ready && (
            <button type="button" disabled={model.busy.value} onClick={() => void model.remove(before)}>
              {before.replacesReady ? 'Bring the ready one back' : 'Delete this set'}
            </button>
          )}
        </div>
        <Notice text={model.formTrouble.value} />
      </div>
    </form>
  );
}

interface PartProps {
  readonly form: SetForm;
  readonly change: (part: Partial<SetForm>) => void;
}

function ViewFields({ form, change }: PartProps) {
  return (
    <>
      <fieldset class="whole">
        <legend>Views</legend>
        {VIEWS.map((view) => (
          <Tick
            key={view}
            on={form.views.includes(view)}
            // in the order of the list, whichever was ticked first
            onTick={(on) => change({ views: VIEWS.filter((each) => (each === view ? on : form.views.includes(each))) })}
          >
            {view.charAt(0).toUpperCase() + view.slice(1)}
          </Tick>
        ))}
      </fieldset>
      <TextField
        name="Close on these slots"
        value={form.closeViews}
        instead="such as seat, legs"
        onInput={(closeViews) => change({ closeViews })}
      />
      <TextField
        name="Fills at least, % of the frame"
        value={form.minPercent}
        figure
        onInput={(minPercent) => change({ minPercent })}
      />
      <TextField
        name="And at most, %"
        value={form.maxPercent}
        figure
        onInput={(maxPercent) => change({ maxPercent })}
      />
      <Field name="Scale">
        <Select
          label="Scale"
          value={form.scale}
          options={[
            ['product', 'Each product fills the frame'],
            ['line', 'One scale for a whole line'],
          ]}
          onPick={(scale) => change({ scale })}
        />
      </Field>
    </>
  );
}

function SwatchFields({ form, change }: PartProps) {
  return (
    <fieldset class="whole">
      <legend>Swatches</legend>
      {SWATCH_KINDS.map((kind) => (
        <Tick
          key={kind}
          on={form.swatches.includes(kind)}
          onTick={(on) =>
            change({ swatches: SWATCH_KINDS.filter((each) => (each === kind ? on : form.swatches.includes(each))) })
          }
        >
          {formatKey(kind)}
        </Tick>
      ))}
    </fieldset>
  );
}

const FORMAT_WORDS = {
  jpg: 'JPEG',
  png: 'PNG, without loss',
  webp: 'WebP',
  tiff: 'TIFF, without loss',
} as const;

/** What a file is, and what is in it beside the product. */
function FileFields({ form, change }: PartProps) {
  const lossy = form.format === 'jpg' || form.format === 'webp';
  return (
    <div class="form">
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
      <Field name="Ground">
        <Select
          label="Ground"
          value={form.ground}
          options={[
            ['white', 'White, 255 in every channel'],
            ['transparent', 'See-through'],
            ['colour', 'A colour'],
          ]}
          onPick={(ground) => change({ ground })}
        />
      </Field>
      {form.ground === 'colour' && (
        <TextField name="Its sRGB hex" value={form.hex} onInput={(hex) => change({ hex })} />
      )}
      {form.of === 'variants' && (
        <Field name="Shadow">
          <Select
            label="Shadow"
            value={form.shadow}
            options={[
              ['with', 'With the product'],
              ['without', 'None'],
              ['separate', 'In a file of its own'],
            ]}
            onPick={(shadow) => change({ shadow })}
          />
        </Field>
      )}
    </div>
  );
}

interface TickProps {
  readonly on: boolean;
  /** In a line of its own. */
  readonly whole?: boolean;
  readonly onTick: (on: boolean) => void;
  readonly children: ComponentChildren;
}

function Tick({ on, whole, onTick, children }: TickProps) {
  return (
    <label class={whole ? 'tick whole' : 'tick'}>
      <input type="checkbox" checked={on} onChange={(event) => onTick(event.currentTarget.checked)} />
      {children}
    </label>
  );
}
