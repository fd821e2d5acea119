import { describeRule } from '../../../../server/core/line/describe-rule.ts';
import type { Rule } from '../../../../server/core/line/line.ts';
import { formatKey } from '../../../format.ts';
import { Field } from '../../../parts/field.tsx';
import { Select } from '../../../parts/select.tsx';
import type { LineModel } from '../line-model.ts';
import {
  countCompanions,
  findTrouble,
  KINDS,
  type Kind,
  listChoices,
  movePlace,
  nameBy,
  type PlaceForm,
  type RuleForm,
  toGivenRule,
  WAYS,
  type Way,
} from './rule-form.ts';

const KIND_WORDS: Readonly<Record<Kind, string>> = {
  excludes: 'never goes with',
  requires: 'goes only with',
  sameAs: 'gives its very finish to',
  companion: 'gives its companion to',
};

const WAY_WORDS: Readonly<Record<Way, string>> = {
  any: 'any finish',
  finish: 'one finish',
  family: 'the family',
  tag: 'what is tagged',
  grade: 'the grade',
};

/** A rule in selects that read as a sentence, with what it says and what keeps it from being stored. */
export function RuleEditor({ model, at }: { readonly model: LineModel; readonly at: number }) {
  const { rules } = model;
  const line = model.line.value!;
  const finishes = model.byFoldedCode.value;
  const { form } = rules.open.value!;
  const isNew = at >= line.rules.length;
  const change = (next: Partial<RuleForm>) => rules.openAt(at, { ...form, ...next });
  const trouble = findTrouble(form, line, finishes);
  const companions = countCompanions(form, line, finishes, model.articles.value);
  const names = form.kind === 'excludes' || form.kind === 'requires';
  return (
    <form
      class="rule-form"
      onSubmit={(event) => {
        event.preventDefault();
        void rules.store();
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') rules.close();
      }}
    >
      <PlaceFields model={model} name="When" place={form.when} ways={WAYS} onChange={(when) => change({ when })} />
      <div class="second">
        <Field name="it">
          <Select
            label="What the rule says"
            value={form.kind}
            options={KINDS.map((kind) => [kind, KIND_WORDS[kind]])}
            onPick={(kind) => {
              const target =
                form.target.way === 'any'
                  ? nameBy(form.target, 'family', listChoices(line, form.target.position, finishes))
                  : form.target;
              change({ kind, target });
            }}
          />
        </Field>
      </div>
      <PlaceFields
        model={model}
        name="the position"
        place={form.target}
        ways={names ? WAYS.filter((way) => way !== 'any') : []}
        onChange={(target) => change({ target })}
      />
      <p class="whole measure" role="status">
        {trouble ?? `${sayAsSentence(toGivenRule(form) as Rule, model)}`}
        {trouble === null &&
          companions === 0 &&
          ' No finish there names one yet: say on the sample card what follows it.'}
      </p>
      <div class="whole actions">
        <button type="submit" class="main" disabled={trouble !== null || rules.busy.value}>
          {isNew ? 'Add the rule' : 'Change the rule'}
        </button>
        {!isNew && (
          <button type="button" disabled={rules.busy.value} onClick={() => void rules.remove(at)}>
            Remove the rule
          </button>
        )}
        <button type="button" onClick={rules.close}>
          Close
        </button>
      </div>
    </form>
  );
}

/** A rule as a sentence of its own. */
export function sayAsSentence(rule: Rule, model: LineModel): string {
  const words = describeRule(rule, model.line.value!.positions);
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
}

interface PlaceFieldsProps {
  readonly model: LineModel;
  readonly name: string;
  readonly place: PlaceForm;
  /** None where the position alone is meant. */
  readonly ways: readonly Way[];
  readonly onChange: (place: PlaceForm) => void;
}

function PlaceFields({ model, name, place, ways, onChange }: PlaceFieldsProps) {
  const line = model.line.value!;
  const finishes = model.byFoldedCode.value;
  const choices = listChoices(line, place.position, finishes);
  const there = place.way === 'any' ? [] : choices[place.way];
  const values = place.way === 'any' || there.includes(place.value) ? there : [place.value, ...there];
  const say = (value: string) => {
    if (place.way === 'finish') return `${model.nameOf(value)}, ${value}`;
    return place.way === 'family' ? formatKey(value) : value;
  };
  return (
    <>
      <Field name={name}>
        <Select
          label={name === 'When' ? 'Position the rule begins at' : 'Position it ties'}
          value={place.position}
          options={line.positions.map(({ position, label }) => [position, label])}
          onPick={(position) => onChange(movePlace(place, position, line, finishes))}
        />
      </Field>
      {ways.length > 0 && (
        <Field name="is in">
          <Select
            label={`How finishes are named at ${place.position}`}
            value={place.way}
            options={ways.map((way) => [way, WAY_WORDS[way]])}
            onPick={(way) => onChange(nameBy(place, way, choices))}
          />
        </Field>
      )}
      {ways.length > 0 && place.way !== 'any' && (
        <Field name="namely">
          <Select
            label={`Finishes at ${place.position}`}
            value={place.value}
            options={values.filter((value) => value !== '').map((value) => [value, say(value)])}
            onPick={(value) => onChange({ ...place, value })}
          />
        </Field>
      )}
    </>
  );
}
