import { describeRule, type Rule } from '../../../../server/core/line/line.ts';
import { capitalise } from '../../../../server/core/texts/format-text.ts';
import { formatKey, isolate } from '../../../format.ts';
import { Field, Select } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineModel } from '../line-model.ts';
import {
  countCompanions,
  findProblem,
  KINDS,
  listChoices,
  movePlace,
  nameBy,
  type PlaceForm,
  type RuleForm,
  toGivenRule,
  WAYS,
  type Way,
} from './rule-form.ts';

const texts = lineTexts.rules;

/** The form of a rule, with the rule as a sentence, or the reason why it is invalid. */
export function RuleEditor({ model, at }: { readonly model: LineModel; readonly at: number }) {
  const { rules } = model;
  const line = model.line.value!;
  const finishes = model.byFoldedCode.value;
  const { form } = rules.open.value!;
  const isNew = at >= line.rules.length;
  const change = (next: Partial<RuleForm>) => rules.openAt(at, { ...form, ...next });
  const problem = findProblem(form, line, finishes);
  const companions = countCompanions(form, line, finishes, model.articles.value);
  const names = form.kind === 'excludes' || form.kind === 'requires';
  return (
    <form
      class="rule-form"
      onSubmit={(event) => {
        event.preventDefault();
        void rules.save();
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') rules.close();
      }}
    >
      <PlaceFields
        model={model}
        name={texts.position}
        place={form.when}
        ways={WAYS}
        onChange={(when) => change({ when })}
      />
      <div class="second">
        <Field name={texts.relation}>
          <Select
            label={texts.relation}
            value={form.kind}
            options={KINDS.map((kind) => [kind, texts.relations[kind]])}
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
        name={texts.otherPosition}
        place={form.target}
        ways={names ? WAYS.filter((way) => way !== 'any') : []}
        onChange={(target) => change({ target })}
      />
      <p class="whole measure" role="status">
        {problem ?? toRuleSentence(toGivenRule(form) as Rule, model)}
        {problem === null && companions === 0 && ` ${texts.noCompanion}`}
      </p>
      <div class="whole actions">
        <button type="submit" class="main" disabled={problem !== null || rules.busy.value}>
          {texts.saveRule}
        </button>
        {!isNew && (
          <button type="button" disabled={rules.busy.value} onClick={() => void rules.remove(at)}>
            {texts.deleteRule}
          </button>
        )}
        <button type="button" onClick={rules.close}>
          {commonTexts.cancel}
        </button>
      </div>
    </form>
  );
}

/** A rule as a sentence, with a capital and a full stop. */
export function toRuleSentence(rule: Rule, model: LineModel): string {
  const positions = model.line.value!.positions.map((each) => ({ ...each, label: isolate(each.label) }));
  return `${capitalise(describeRule(rule, positions))}.`;
}

interface PlaceFieldsProps {
  readonly model: LineModel;
  readonly name: string;
  readonly place: PlaceForm;
  /** Empty if the rule names only the position. */
  readonly ways: readonly Way[];
  readonly onChange: (place: PlaceForm) => void;
}

function PlaceFields({ model, name, place, ways, onChange }: PlaceFieldsProps) {
  const line = model.line.value!;
  const finishes = model.byFoldedCode.value;
  const choices = listChoices(line, place.position, finishes);
  const offered = place.way === 'any' ? [] : choices[place.way];
  // a value that is no longer offered stays visible
  const values = place.way === 'any' || offered.includes(place.value) ? offered : [place.value, ...offered];
  const describe = (value: string) => {
    if (place.way === 'finish') return lineTexts.entry.nameAndCode(model.nameOf(value), value);
    return place.way === 'family' ? formatKey(value) : value;
  };
  return (
    <>
      <Field name={name}>
        <Select
          label={name}
          value={place.position}
          options={line.positions.map(({ position, label }) => [position, label])}
          onPick={(position) => onChange(movePlace(place, position, line, finishes))}
        />
      </Field>
      {ways.length > 0 && (
        <Field name={texts.finishesBy}>
          <Select
            label={texts.finishesAtBy(place.position)}
            value={place.way}
            options={ways.map((way) => [way, texts.ways[way]])}
            onPick={(way) => onChange(nameBy(place, way, choices))}
          />
        </Field>
      )}
      {ways.length > 0 && place.way !== 'any' && (
        <Field name={texts.value}>
          <Select
            label={texts.valueAt(place.position)}
            value={place.value}
            options={values.filter((value) => value !== '').map((value) => [value, describe(value)])}
            onPick={(value) => onChange({ ...place, value })}
          />
        </Field>
      )}
    </>
  );
}
