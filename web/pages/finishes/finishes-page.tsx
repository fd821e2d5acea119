import { useEffect, useMemo } from 'preact/hooks';
import { formatColour, formatConverted, METAL_CHIP } from '../../../server/core/finish/format-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { seg } from '../../api.ts';
import { Approvals } from '../../parts/approvals.tsx';
import { Field, Notice } from '../../parts/form.tsx';
import { Chip, Picture } from '../../parts/picture.tsx';
import { Heading } from '../../parts/shell.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts as texts } from '../../texts/finishes.ts';
import { CompareFinishes } from './compare-finishes.tsx';
import { VISIBLE_DELTA_E } from './finish-draft.ts';
import { FinishFields } from './finish-fields.tsx';
import { createFinishesModel, type FinishesModel, getElementId } from './finishes-model.ts';
import { describeGrades } from './group-finishes.ts';
import { Revisions } from './revisions.tsx';
import { SimilarSection } from './similar-section.tsx';
import { SwatchDownload } from './swatch-download.tsx';
import { WhereUsed } from './where-used.tsx';

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
      <Notice text={model.problem.value}>
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
          <Notice text={model.search.problem.value} />
        </div>
      )}
      {finishes?.length === 0 && <p class="lead measure">{texts.empty}</p>}
      {finishes && (
        <div class="no-print adding-finish">
          <button
            type="button"
            id={getElementId('')}
            aria-expanded={model.open.value === ''}
            onClick={() => model.openFinish(null)}
          >
            {texts.add}
          </button>
          {model.open.value === '' && (
            <>
              {model.added.value && <Added model={model} finish={model.added.value} />}
              <FinishFields model={model} before={null} />
            </>
          )}
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
      <CompareFinishes model={model} />
      {finishes && finishes.length > 1 && <SimilarSection model={model} />}
    </>
  );
}

/** The finish that was added last, above the form for the next one. */
function Added({ model, finish: { finish, name, revision, resolved } }: FinishSampleProps) {
  return (
    <div class="added-finish arrives" role="status">
      <Picture
        address={`/api/finishes/${seg(finish)}/swatch.webp?kind=sphere&size=256`}
        alt={texts.sample.onSphere(name)}
        version={revision}
      />
      <p>
        <Chip hex={resolved.hex} /> <span class="strong">{texts.added(name)}</span>{' '}
        <span class="code soft">{finish}</span>
        <br />
        {texts.addNext}{' '}
        <button type="button" onClick={() => model.showFinish(finish)}>
          {texts.showAdded}
        </button>
      </p>
    </div>
  );
}

interface FinishSampleProps {
  readonly model: FinishesModel;
  readonly finish: FinishAnswer;
}

/** A finish in the list: a sphere in the studio light, a flat chip, and its values. It opens into its form. */
function FinishSample({ model, finish }: FinishSampleProps) {
  const { resolved } = finish;
  const converted = formatConverted(resolved.specification, {
    specifiedLab: resolved.lab.value,
    includedLab: resolved.includedLab ?? null,
  });
  const open = model.open.value === finish.finish;
  const grades = describeGrades(finish.finish, model.lines.value);
  return (
    <>
      <li class="sample" id={getElementId(finish.finish)}>
        <div class="sample-pictures">
          <Picture
            address={`/api/finishes/${seg(finish.finish)}/swatch.webp?kind=sphere&size=256`}
            alt={texts.sample.onSphere(finish.name)}
            version={finish.revision}
          />
          <Chip hex={resolved.hex} />
        </div>
        <button type="button" aria-expanded={open} dir="auto" onClick={() => model.openFinish(finish)}>
          {finish.name}
        </button>
        <dl class="small">
          <dt class="unseen">{commonTexts.code}</dt>
          <dd class="code">{finish.finish}</dd>
          <dt class="unseen">{texts.sample.specified}</dt>
          <dd>{formatColour(resolved.specification)}</dd>
          <dt class="unseen">{texts.sample.delivered}</dt>
          <dd>
            → {converted !== null && `${converted}, `}sRGB {resolved.delivered?.hex ?? resolved.hex}
            {resolved.metalness === 1 && `, ${METAL_CHIP}`}
          </dd>
          <dt class="unseen">{texts.sample.surface}</dt>
          <dd>
            {texts.sample.roughness(Number(resolved.roughness.toFixed(2)))}
            {resolved.metalness > 0.5 && `, ${texts.sample.metal}`}
          </dd>
          {grades && (
            <>
              <dt class="unseen">{texts.sample.grade}</dt>
              <dd>{grades}</dd>
            </>
          )}
          {finish.deltaE !== undefined && <dd>{texts.sample.away(finish.deltaE.toFixed(1))}</dd>}
          {resolved.outOfGamutDeltaE > VISIBLE_DELTA_E && (
            <dd>{texts.sample.outOfGamut(resolved.outOfGamutDeltaE.toFixed(1))}</dd>
          )}
        </dl>
        <label class="tick small no-print">
          <input
            type="checkbox"
            checked={model.compared.value.includes(finish.finish)}
            onChange={(event) => model.tick(finish.finish, event.currentTarget.checked)}
          />
          <span>
            {texts.compare.tick} <span class="unseen">{finish.name}</span>
          </span>
        </label>
      </li>
      {open && (
        <li class="sample-open arrives">
          <FinishFields model={model} before={finish} />
          <SwatchDownload finish={finish.finish} />
          <WhereUsed finish={finish.finish} revision={finish.revision} />
          <Approvals path={`/api/finishes/${seg(finish.finish)}/approvals`} revision={finish.revision} />
          <Revisions finish={finish.finish} revision={finish.revision} />
        </li>
      )}
    </>
  );
}
