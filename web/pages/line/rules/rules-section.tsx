import { Fragment } from 'preact';
import type { LineModel } from '../line-model.ts';
import { EffectsTable } from './effects-table.tsx';
import { RuleEditor, sayAsSentence } from './rule-editor.tsx';
import { startForm, toForm } from './rule-form.ts';

/** What may stand beside what, each rule a sentence that opens into its selects, and what they come to. */
export function RulesSection({ model }: { readonly model: LineModel }) {
  const { rules } = model;
  const line = model.line.value!;
  const open = rules.open.value?.at ?? null;
  const adding = open === line.rules.length;
  const trouble = rules.trouble.value;
  return (
    <section>
      <div class="section-head">
        <h2>Rules</h2>
        <p class="small">
          {line.positions.length < 2
            ? 'A rule ties two positions. Add positions first.'
            : line.rules.length === 0
              ? 'None: whatever a position may take goes with everything.'
              : 'What may stand beside what, for every product that has slots at both positions. Press a rule to change it.'}
        </p>
      </div>
      {(line.rules.length > 0 || adding) && (
        <table class="rules">
          <thead>
            <tr>
              <th scope="col">No.</th>
              <th scope="col">Rule</th>
              <th scope="col">Binds</th>
            </tr>
          </thead>
          <tbody>
            {line.rules.map((rule, at) => (
              <Fragment key={at}>
                <tr>
                  <td>{at + 1}</td>
                  <th scope="row">
                    <button
                      type="button"
                      id={`rule-${at}`}
                      class="rule"
                      aria-expanded={open === at}
                      onClick={() => (open === at ? rules.close() : rules.openAt(at, toForm(rule)))}
                    >
                      {sayAsSentence(rule, model)}
                    </button>
                    {trouble?.at === at && (
                      <p class="small" role="alert">
                        {trouble.message}
                      </p>
                    )}
                  </th>
                  <td>{sayBound(model, at)}</td>
                </tr>
                {open === at && <OpenedRule model={model} at={at} />}
              </Fragment>
            ))}
            {adding && <OpenedRule model={model} at={line.rules.length} />}
          </tbody>
        </table>
      )}
      {trouble && trouble.at >= line.rules.length && (
        <p class="small" role="alert">
          {trouble.message}
        </p>
      )}
      {line.positions.length >= 2 && !adding && (
        <p class="total no-print">
          <button
            type="button"
            onClick={() => rules.openAt(line.rules.length, startForm(line, model.byFoldedCode.value))}
          >
            Add a rule
          </button>
        </p>
      )}
      <EffectsTable model={model} />
    </section>
  );
}

function OpenedRule({ model, at }: { readonly model: LineModel; readonly at: number }) {
  return (
    <tr class="opened no-print">
      <td colSpan={3}>
        <RuleEditor model={model} at={at} />
      </td>
    </tr>
  );
}

/** The products that a rule binds. */
function sayBound(model: LineModel, at: number): string {
  const effects = model.effects.effects.value;
  if (effects.some(({ counted, trouble }) => counted === null && trouble === null)) return '…';
  const bound = effects.filter(({ counted }) => counted?.effects?.binding.includes(at));
  return bound.length > 0 ? bound.map(({ product }) => product.name).join(', ') : 'no product yet';
}
