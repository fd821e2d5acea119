import type { ComponentChildren } from 'preact';
import { FAMILIES } from '../../../server/core/finish/finish.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { formatKey } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { FindingList } from '../../parts/finding-list.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import { TextField } from '../../parts/text-field.tsx';
import { ColourFields } from './colour-fields.tsx';
import { DraftFigure } from './draft-figure.tsx';
import type { FinishesModel } from './finishes-model.ts';
import { MapFields } from './map-fields.tsx';
import { SurfaceFields } from './surface-fields.tsx';
import { TradeFields } from './trade-fields.tsx';

interface FinishFieldsProps {
  readonly model: FinishesModel;
  /** Null for a new finish. */
  readonly before: FinishAnswer | null;
}

/** Findings that are about the colour; all others are about the surface. */
const OF_COLOUR: ReadonlySet<string> = new Set([
  'out-of-gamut',
  'colour-estimated',
  'pattern-off-colour',
  'pattern-flattened',
  'map-not-measured',
  'albedo-implausible',
  'metal-too-dark',
]);

/** The sheet on which a finish is written or changed; beside it what it comes to, before anything is saved. */
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
        if (event.key === 'Escape') model.open.value = null;
      }}
    >
      <DraftFigure model={model} before={before} />
      <div class="finish-parts">
        <div class="form">
          {before === null && (
            <TextField
              name="Code"
              value={form.code}
              required
              maxLength={64}
              onInput={(code) => model.change({ code: code.trim() })}
            />
          )}
          <TextField name="Name" value={form.name} required onInput={(name) => model.change({ name })} />
          <Field name="Family">
            <Select
              label="Family"
              value={form.family}
              options={FAMILIES.map((family) => [family, formatKey(family)])}
              onPick={(family) => model.change({ family })}
            />
          </Field>
          <Field name="Article">
            <Select
              label="Article"
              value={form.article}
              options={[['', 'None'], ...model.articles.value.map(({ article, name }) => [article, name] as const)]}
              onPick={(article) => model.change({ article })}
            />
          </Field>
          {before?.supplied && (
            <Field name="Material">
              <Select
                label="Material"
                value={form.material}
                options={[
                  ['supplied', 'As it came with a model; colour and surface only describe it'],
                  ['made', 'Made from colour and surface; the one it came with is given up'],
                ]}
                onPick={(material) => model.change({ material })}
              />
            </Field>
          )}
        </div>
        <Part title="Colour" findings={findings.filter(({ code }) => OF_COLOUR.has(code))}>
          <ColourFields form={form} change={model.change} resolved={draft?.resolved ?? null} />
          <TextField
            name="Signed off for screens, sRGB"
            value={form.display}
            onInput={(text) => model.change({ display: text })}
          />
          {display !== null && (
            <p class="whole">
              The colour for screens is ΔE00 {display.toFixed(1)} from what is specified; deliveries carry what is
              specified.
            </p>
          )}
        </Part>
        <Part title="Gloss and surface" findings={findings.filter(({ code }) => !OF_COLOUR.has(code))}>
          <SurfaceFields form={form} draft={draft} change={model.change} />
        </Part>
        <Part title="Maps">
          <MapFields model={model} />
        </Part>
        <Part title="In the trade">
          <TradeFields form={form} change={model.change} />
        </Part>
        <div class="finish-end no-print">
          <div class="actions">
            <button type="submit" class="main" disabled={model.busy.value}>
              {before ? 'Save the finish' : 'Add the finish'}
            </button>
            <button
              type="button"
              onClick={() => {
                model.open.value = null;
              }}
            >
              Close
            </button>
            {before && (
              <button type="button" disabled={model.busy.value} onClick={() => void model.remove(before.finish)}>
                Remove it from the card
              </button>
            )}
          </div>
          <Notice text={model.formTrouble.value} />
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

/** A part of the sheet, with what is to be remarked of it at its foot. */
function Part({ title, findings = [], children }: PartProps) {
  return (
    <section class="finish-part">
      <h3>{title}</h3>
      <div class="form">{children}</div>
      <div role="status">{findings.length > 0 && <FindingList findings={findings} />}</div>
    </section>
  );
}
