import { useEffect, useMemo } from 'preact/hooks';
import { count } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { AlikeSection } from './alike-section.tsx';
import { FinishFields } from './finish-fields.tsx';
import { FinishSample } from './finish-sample.tsx';
import { createFinishesModel } from './finishes-model.ts';

/** The sample card: every finish, by article and family. */
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
        <Heading text="Finishes" />
        {finishes && (
          <p class="soft">
            {count(finishes.length, 'finish', 'finishes')}. The sphere stands in the studio’s light, the chip is the
            flat colour.
          </p>
        )}
        <p class="no-print">
          <a class="button" href="/finishes/import">
            Import measurement files
          </a>
        </p>
      </div>
      <Notice text={model.trouble.value}>
        <button type="button" onClick={model.load}>
          Try again
        </button>
      </Notice>
      {finishes && finishes.length > 0 && (
        <div class="no-print finish-search">
          <Field name="Find by words, or by a colour such as #2f5d73">
            <input value={model.search.text.value} onInput={(event) => model.search.type(event.currentTarget.value)} />
          </Field>
          {model.search.found.value?.finishes.length === 0 && <p class="soft">Nothing here has all of these words.</p>}
          <Notice text={model.search.trouble.value} />
        </div>
      )}
      {finishes && (
        <div class="no-print adding-finish">
          <button type="button" aria-expanded={model.open.value === ''} onClick={() => model.openFinish(null)}>
            Add a finish
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
      {finishes && finishes.length > 1 && <AlikeSection model={model} />}
    </>
  );
}
