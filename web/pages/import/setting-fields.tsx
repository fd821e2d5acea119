import { FAMILIES, GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../../server/core/finish/finish.ts';
import { formatKey } from '../../format.ts';
import { Field, Select } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { importTexts } from '../../texts/import.ts';
import type { ImportModel, ImportSettings } from './import-model.ts';

type Choices = readonly (readonly [value: string, label: string])[];

const texts = importTexts.defaults;

/** The values that apply where the file gives none. */
export function SettingFields({ model }: { readonly model: ImportModel }) {
  const fromFile: Choices[number] = ['', texts.fromFile];
  const choices: Readonly<Record<keyof ImportSettings, Choices>> = {
    family: [fromFile, ...FAMILIES.map((family) => [family, formatKey(family)] as const)],
    article: [['', commonTexts.none], ...model.articles.value.map(({ article, name }) => [article, name] as const)],
    illuminant: [fromFile, ...ILLUMINANTS.toReversed().map((illuminant) => [illuminant, illuminant] as const)],
    observer: [fromFile, ...OBSERVERS.map((observer) => [observer, observer.replace('deg', '°')] as const)],
    geometry: [fromFile, ...GEOMETRIES.map((geometry) => [geometry, finishesTexts.geometries[geometry]] as const)],
  };
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.note}</p>
      </div>
      <div class="form">
        {(Object.keys(choices) as (keyof ImportSettings)[]).map((key) => (
          <Field key={key} name={texts[key]}>
            <Select
              label={texts[key]}
              value={model.settings.value[key]}
              options={choices[key]}
              disabled={model.answer.value?.stored}
              onPick={(value) => model.changeSettings({ [key]: value })}
            />
          </Field>
        ))}
      </div>
    </section>
  );
}
