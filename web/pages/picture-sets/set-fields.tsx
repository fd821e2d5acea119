import type { ComponentChildren } from 'preact';
import { GS1_CAVEAT } from '../../../server/core/gs1.ts';
import { NAME_FIELDS } from '../../../server/core/picture/file-name.ts';
import { SWATCH_KINDS, VIEWS } from '../../../server/core/picture/picture.ts';
import type { PictureSetAnswer } from '../../../server/http/contracts/picture-set.ts';
import { RefusedChange } from '../../parts/conflict.tsx';
import { Field, Notice, Select, TextField } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { pictureSetsTexts as texts } from '../../texts/pictures.ts';
import { FileFields } from './file-fields.tsx';
import type { PictureSetsModel } from './picture-sets-model.ts';
import { getDefaultNames, nameExample, type SetForm } from './set-form.ts';

interface SetFieldsProps {
  readonly model: PictureSetsModel;
  /** Null for a new set. */
  readonly before: PictureSetAnswer | null;
}

/** The form of a picture set. It names the first mistake while the user types. */
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
            name={commonTexts.code}
            value={form.code}
            required
            maxLength={64}
            onInput={(code) => change({ code: code.trim() })}
          />
        )}
        <TextField name={commonTexts.name} value={form.name} required onInput={(name) => change({ name })} />
        <Field name={texts.subject}>
          <Select
            label={texts.subject}
            value={form.of}
            options={(['variants', 'finishes'] as const).map((of) => [of, texts.subjects[of]])}
            onPick={(of) => change({ of })}
          />
        </Field>
        {form.of === 'variants' ? <ViewFields form={form} change={change} /> : <SwatchFields {...{ form, change }} />}
      </div>
      <FileFields form={form} change={change} />
      <div class="form">
        <div class="whole">
          <TextField
            name={texts.fileNames}
            value={form.names}
            placeholder={getDefaultNames(form)}
            onInput={(names) => change({ names })}
          />
          <p class="small soft">{texts.placeholders(NAME_FIELDS)}</p>
          {example !== null && <p class="small soft">{texts.fileNameExample(example)}</p>}
        </div>
        {form.of === 'variants' && (
          <Tick whole on={form.gs1Names} onTick={(gs1Names) => change({ gs1Names })}>
            {texts.gs1Names}
          </Tick>
        )}
        {form.of === 'variants' && form.gs1Names && <p class="small soft measure whole">{GS1_CAVEAT}</p>}
      </div>
      <div class="set-end">
        {begun && 'problem' in read && (
          <p class="measure" role="status">
            {read.problem}
          </p>
        )}
        <div class="actions">
          <button type="submit" class="main" disabled={model.busy.value || 'problem' in read}>
            {before?.ready ? texts.replaceBuiltIn : texts.saveSet}
          </button>
          <button type="button" onClick={model.close}>
            {commonTexts.cancel}
          </button>
          {before && (
            <button type="button" onClick={model.copy}>
              {texts.duplicate}
            </button>
          )}
          {before && !before.ready && (
            <button type="button" disabled={model.busy.value} onClick={() => void model.remove(before)}>
              {before.replacesReady ? texts.restoreBuiltIn : texts.deleteSet}
            </button>
          )}
        </div>
        <Notice text={model.formProblem.value} />
        <RefusedChange changes={model.changes} />
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
        <legend>{texts.views}</legend>
        {VIEWS.map((view) => (
          <Tick
            key={view}
            on={form.views.includes(view)}
            // keeps the order of VIEWS, whichever is ticked first
            onTick={(on) => change({ views: VIEWS.filter((each) => (each === view ? on : form.views.includes(each))) })}
          >
            {texts.viewNames[view]}
          </Tick>
        ))}
      </fieldset>
      <TextField
        name={texts.closeUps}
        value={form.closeViews}
        placeholder={texts.closeUpsExample}
        onInput={(closeViews) => change({ closeViews })}
      />
      <TextField name={texts.minFill} value={form.minPercent} figure onInput={(minPercent) => change({ minPercent })} />
      <TextField name={texts.maxFill} value={form.maxPercent} figure onInput={(maxPercent) => change({ maxPercent })} />
      <Field name={texts.scale}>
        <Select
          label={texts.scale}
          value={form.scale}
          options={(['product', 'line'] as const).map((scale) => [scale, texts.scales[scale]])}
          onPick={(scale) => change({ scale })}
        />
      </Field>
    </>
  );
}

function SwatchFields({ form, change }: PartProps) {
  return (
    <fieldset class="whole">
      <legend>{texts.swatches}</legend>
      {SWATCH_KINDS.map((kind) => (
        <Tick
          key={kind}
          on={form.swatches.includes(kind)}
          onTick={(on) =>
            change({ swatches: SWATCH_KINDS.filter((each) => (each === kind ? on : form.swatches.includes(each))) })
          }
        >
          {texts.swatchNames[kind]}
        </Tick>
      ))}
    </fieldset>
  );
}

interface TickProps {
  readonly on: boolean;
  /** On a line of its own. */
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
