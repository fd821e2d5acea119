import type { ComponentChildren } from 'preact';
import { FAMILIES } from '../../../server/core/finish/finish.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { formatKey } from '../../format.ts';
import { RefusedChange } from '../../parts/conflict.tsx';
import { FindingList } from '../../parts/finding-list.tsx';
import { Field, Notice, Select, TextField } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { ColourFields } from './colour-fields.tsx';
import { DraftFigure } from './draft-figure.tsx';
import type { FinishesModel } from './finishes-model.ts';
import { MapFields } from './map-fields.tsx';
import { MetalFields } from './metal-fields.tsx';
import { SurfaceFields } from './surface-fields.tsx';
import { TradeFields } from './trade-fields.tsx';

const texts = finishesTexts.form;

interface FinishFieldsProps {
  readonly model: FinishesModel;
  /** Null for a new finish. */
  readonly before: FinishAnswer | null;
}

/** Findings about the colour; all others are about the surface. */
const OF_COLOUR: ReadonlySet<string> = new Set([
  'out-of-gamut',
  'colour-estimated',
  'pattern-off-colour',
  'pattern-flattened',
  'map-not-measured',
  'albedo-implausible',
  'metal-too-dark',
]);

/** The form of a finish, with a live preview before anything is saved. */
export function FinishFields({ model, before }: FinishFieldsProps) {
  const form = model.form.value;
  const draft = model.shown.value;
  const findings = draft?.findings ?? [];
  const display = draft?.resolved.displayDeltaE ?? null;
  return (
    <form
      class={before ? 'finish-form' : 'finish-form no-print'}
      onSubmit={(event) => {
        event.preventDefault();
        void model.save();
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') model.close();
      }}
    >
      {!before && <h2 class="unseen">{texts.newName}</h2>}
      <DraftFigure model={model} before={before} />
      <div class="finish-parts">
        <div class="form">
          {before === null && (
            <TextField
              focused
              name={commonTexts.code}
              value={form.code}
              required
              maxLength={64}
              onInput={(code) => model.change({ code: code.trim() })}
            />
          )}
          <TextField name={commonTexts.name} value={form.name} required onInput={(name) => model.change({ name })} />
          <Field name={commonTexts.family}>
            <Select
              label={commonTexts.family}
              value={form.family}
              options={FAMILIES.map((family) => [family, formatKey(family)])}
              onPick={(family) => model.change({ family })}
            />
          </Field>
          <Field name={commonTexts.article}>
            <Select
              label={commonTexts.article}
              value={form.article}
              options={[
                ['', commonTexts.none],
                ...model.articles.value.map(({ article, name }) => [article, name] as const),
              ]}
              onPick={(article) => model.change({ article })}
            />
          </Field>
          {before?.supplied && (
            <Field name={texts.material}>
              <Select
                label={texts.material}
                value={form.material}
                options={(['supplied', 'made'] as const).map((material) => [material, texts.materials[material]])}
                onPick={(material) => model.change({ material })}
              />
            </Field>
          )}
        </div>
        <Part title={texts.colour} findings={findings.filter(({ code }) => OF_COLOUR.has(code))}>
          <MetalFields form={form} change={model.change} />
          <ColourFields form={form} change={model.change} resolved={draft?.resolved ?? null} />
          <TextField
            name={texts.screenColour}
            value={form.display}
            onInput={(text) => model.change({ display: text })}
          />
          {display !== null && <p class="whole">{texts.screenDistance(display.toFixed(1))}</p>}
        </Part>
        <Part title={texts.surface} findings={findings.filter(({ code }) => !OF_COLOUR.has(code))}>
          <SurfaceFields form={form} draft={draft} change={model.change} />
        </Part>
        <Part title={texts.maps}>
          <MapFields model={model} />
        </Part>
        <Part title={texts.trade}>
          <TradeFields form={form} change={model.change} />
        </Part>
        <div class="finish-end no-print">
          <div class="actions">
            <button type="submit" class="main" disabled={model.busy.value}>
              {texts.save}
            </button>
            <button type="button" onClick={model.close}>
              {before || model.added.value === null ? commonTexts.cancel : commonTexts.close}
            </button>
            {before && (
              <button type="button" disabled={model.busy.value} onClick={() => model.duplicate(before)}>
                {texts.duplicate}
              </button>
            )}
            {before && (
              <button type="button" disabled={model.busy.value} onClick={() => void model.remove(before.finish)}>
                {texts.delete}
              </button>
            )}
          </div>
          <Notice text={model.formProblem.value} />
          <RefusedChange changes={model.changes} />
        </div>
      </div>
    </form>
  );
}

interface PartProps {
  readonly title: string;
  readonly findings?: readonly Finding[];
  readonly children: ComponentChildren;
}

/** A part of the form, with its findings at the end. */
function Part({ title, findings = [], children }: PartProps) {
  return (
    <section class="finish-part">
      <h3>{title}</h3>
      <div class="form">{children}</div>
      <div role="status">{findings.length > 0 && <FindingList findings={findings} />}</div>
    </section>
  );
}
