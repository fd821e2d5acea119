import { useEffect, useMemo } from 'preact/hooks';
import { Field, Notice } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts as texts } from '../../texts/finishes.ts';
import { FinishFields } from './finish-fields.tsx';
import { FinishSample } from './finish-sample.tsx';
import { createFinishesModel } from './finishes-model.ts';
import { SimilarSection } from './similar-section.tsx';

/** All finishes, by article and family; each opens into its form. */
export function FinishesPage() {
  const model = useMemo(createFinishesModel, []);
  useEffect(() => {
    void model.load();
    return model.swatch.close;
  }, [model]);
  const finishes = model.finishes.value;
  return (
    <>
      <div class="title-line">
        <Heading text={texts.heading} />
        {finishes && <p class="soft">{texts.summary(finishes.length)}</p>}
        <p class="no-print">
          <a class="button" href="/finishes/import">
            {texts.importFiles}
          </a>
        </p>
      </div>
      <Notice text={model.trouble.value}>
        <button type="button" onClick={model.load}>
          {commonTexts.tryAgain}
        </button>
      </Notice>
      {finishes && finishes.length > 0 && (
        <div class="no-print finish-search">
          <Field name={texts.search.label}>
            <input value={model.search.text.value} onInput={(event) => model.search.type(event.currentTarget.value)} />
          </Field>
          {model.search.found.value?.finishes.length === 0 && <p class="soft">{texts.search.noMatch}</p>}
          <Notice text={model.search.trouble.value} />
        </div>
      )}
      {finishes && (
        <div class="no-print adding-finish">
          <button type="button" aria-expanded={model.open.value === ''} onClick={() => model.openFinish(null)}>
            {texts.add}
          </button>
          {model.open.value === '' && <FinishFields model={model} before={null} />}
        </div>
      )}
      {model.groups.value.map((group) => (
        <section key={group.key} class="samples-group">
          <div class="section-head">
            <h2>{group.title}</h2>
            {group.note && <p class="small">{group.note}</p>}
          </div>
          <ul class="samples">
            {group.finishes.map((finish) => (
              <FinishSample key={finish.finish} model={model} finish={finish} />
            ))}
          </ul>
        </section>
      ))}
      {finishes && finishes.length > 1 && <SimilarSection model={model} />}
    </>
  );
}
