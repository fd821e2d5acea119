import { FAMILIES, GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../../server/core/finish/finish.ts';
import { formatKey } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import type { ImportModel, ImportSettings } from './import-model.ts';

type Choices = readonly (readonly [value: string, words: string])[];

const GEOMETRY_WORDS = {
  'di:8': 'di:8, sphere, reflection included',
  'de:8': 'de:8, sphere, reflection excluded',
  '45:0': '45:0',
} as const;

const unsaid = (words: string): Choices => [['', words]];

/** What is assumed where the file does not say; it never goes before what the file says. */
export function SettingFields({ model }: { readonly model: ImportModel }) {
  const fields: readonly (readonly [keyof ImportSettings, string, Choices])[] = [
    ['family', 'Family of new finishes', [...unsaid('Only what the file says'), ...FAMILIES.map(inWords)]],
    [
      'article',
      'Article of new finishes',
      [...unsaid('None'), ...model.articles.value.map(({ article, name }) => [article, name] as const)],
    ],
    ['illuminant', 'Illuminant', [...unsaid('Only what the file says'), ...ILLUMINANTS.toReversed().map(asItIs)]],
    [
      'observer',
      'Observer',
      [
        ...unsaid('Only what the file says'),
        ...OBSERVERS.map((observer) => [observer, observer.replace('deg', '°')] as const),
      ],
    ],
    [
      'geometry',
      'Measuring geometry',
      [...unsaid('Only what the file says'), ...GEOMETRIES.map((each) => [each, GEOMETRY_WORDS[each]] as const)],
    ],
  ];
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Where the file does not say</h2>
        <p class="small">
          Lab and XYZ are refused without illuminant and observer. What a line says itself goes first.
        </p>
      </div>
      <div class="form">
        {fields.map(([key, label, options]) => (
          <Field key={key} name={label}>
            <Select
              label={label}
              value={model.settings.value[key]}
              options={options}
              disabled={model.answer.value?.stored}
              onPick={(value) => model.set({ [key]: value })}
            />
          </Field>
        ))}
      </div>
    </section>
  );
}

function inWords(key: string): readonly [string, string] {
  return [key, formatKey(key)];
}

function asItIs(key: string): readonly [string, string] {
  return [key, key];
}
