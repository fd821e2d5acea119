import { useSignal } from '@preact/signals';
import { Field, Select, TextField } from '../../../parts/form.tsx';
import { lineTexts } from '../../../texts/line.ts';
import { addEntries } from '../line-changes.ts';
import type { LineModel } from '../line-model.ts';
import { ADD_WAYS, type AddWay, listChoices } from './range-choices.ts';

const texts = lineTexts.range;

/** Adds finishes of the library to the range: one, all of an article, a family or a tag, or all that it does not have. */
export function AddToRange({ model }: { readonly model: LineModel }) {
  const way = useSignal<AddWay>('article');
  const chosen = useSignal('');
  const grade = useSignal('');
  const others = model.others.value;
  const ways = ADD_WAYS.filter((each) => listChoices(each, others, model.articles.value).length > 0);
  const now = ways.includes(way.value) ? way.value : ways[0];
  if (now === undefined) return <p class="total soft">{texts.hasAll}</p>;
  const choices = listChoices(now, others, model.articles.value);
  const choice = choices.find(({ value }) => value === chosen.value) ?? choices[0]!;
  return (
    <form
      class="form adding-to-range no-print"
      onSubmit={(event) => {
        event.preventDefault();
        const { finishes } = choice;
        void model.edit((line) => addEntries(line, finishes, grade.value.trim()));
      }}
    >
      <Field name={texts.addBy}>
        <Select
          label={texts.addBy}
          value={now}
          options={ways.map((each) => [each, texts.ways[each]] as const)}
          onPick={(picked) => {
            way.value = picked;
          }}
        />
      </Field>
      {now !== 'all' && (
        <Field name={texts.ways[now]}>
          <Select
            label={texts.finishesToAdd}
            value={choice.value}
            options={choices.map(
              ({ value, label, finishes }) => [value, texts.choice(label, finishes.length)] as const,
            )}
            onPick={(value) => {
              chosen.value = value;
            }}
          />
        </Field>
      )}
      <TextField
        name={texts.gradeOfNew}
        value={grade.value}
        maxLength={16}
        onInput={(text) => {
          grade.value = text;
        }}
      />
      <button type="submit">{texts.addFinishes(choice.finishes.length)}</button>
    </form>
  );
}
