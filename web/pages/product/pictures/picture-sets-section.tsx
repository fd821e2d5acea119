import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import type { SetFileAnswer } from '../../../../server/http/contracts/picture-set.ts';
import { formatBytes } from '../../../format.ts';
import {
  describeBackground,
  describeFormat,
  describeSize,
  describeSubject,
} from '../../../parts/describe-picture-set.ts';
import { Notice } from '../../../parts/form.tsx';
import { describeJob, isOpenJob } from '../../../parts/jobs.ts';
import { commonTexts } from '../../../texts/common.ts';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import type { SetJob, SetRow } from './picture-sets-model.ts';

const texts = productTexts.pictureSets;

/** Files listed at first, and with each further step. */
const FILES = 50;
/** Failures listed before the rest is counted. */
const FAILURES = 6;

/** Picture sets for this product: their files, how many exist, making the rest, and all as one zip. */
export function PictureSetsSection({ model }: { readonly model: ProductModel }) {
  const { sets, schedule } = model;
  const none = schedule.saved.value.rows.length === 0;
  const version = model.version.value;
  useEffect(() => void sets.find(), [sets]);
  // a change of schedule, slots or finishes makes some files outdated
  useEffect(() => {
    if (!none) void sets.load();
  }, [sets, version, none]);
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">
          {none ? texts.noVariants : texts.intro} <a href="/picture-sets">{texts.edit}</a>
        </p>
      </div>
      {!none && (
        <div class="scroll">
          <table class="picture-sets">
            <thead>
              <tr>
                <th scope="col">{texts.columns.set}</th>
                <th scope="col">{texts.columns.subject}</th>
                <th scope="col">{texts.columns.format}</th>
                <th scope="col" class="figure">
                  {texts.columns.files}
                </th>
                <th scope="col" class="figure">
                  {texts.columns.made}
                </th>
                <th scope="col">
                  <span class="unseen">{texts.actions}</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {sets.rows.value.map((row) => (
                <Row key={row.set.code} model={model} row={row} />
              ))}
            </tbody>
          </table>
        </div>
      )}
      <Notice text={sets.problem.value} />
    </section>
  );
}

function Row({ model, row: { set, plan, problem } }: { readonly model: ProductModel; readonly row: SetRow }) {
  const { sets } = model;
  const job = sets.job.value?.set === set.code ? sets.job.value : null;
  const open = sets.open.value === set.code;
  const isOpen = job !== null && isOpenJob(job.state);
  const made = isOpen ? job.kept + job.done - job.failed : plan?.made;
  const missing = plan ? plan.total - plan.made : 0;
  return (
    <>
      <tr>
        <th scope="row">
          {plan ? (
            <button type="button" aria-expanded={open} onClick={() => sets.toggle(set.code)}>
              {set.name}
            </button>
          ) : (
            set.name
          )}
        </th>
        <td>
          {describeSubject(set)}
          <small class="soft">{describeBackground(set)}</small>
        </td>
        <td>
          {describeSize(set)}, {describeFormat(set)}
        </td>
        <td class="figure">{plan && formatNumber(plan.total)}</td>
        <td class="figure">
          {made !== undefined && formatNumber(made)}
          {plan && plan.bytes > 0 && !isOpen && <small class="soft">{formatBytes(plan.bytes)}</small>}
        </td>
        <td>
          {plan && (
            <div class="actions set-does">
              {isOpen ? (
                <button type="button" onClick={() => void sets.cancel()}>
                  {commonTexts.cancel}
                  <span class="unseen">{texts.cancelSet(set.name)}</span>
                </button>
              ) : (
                <button type="button" disabled={missing === 0} onClick={() => void sets.make(set.code)}>
                  {plan.made === 0 ? texts.make : missing === 0 ? texts.allMade : texts.makeFiles(missing)}
                  <span class="unseen">{texts.ofSet(set.name)}</span>
                </button>
              )}
              <a href={plan.zip} download={`${model.code}_${set.code}.zip`}>
                {texts.zip}
                <span class="unseen">{texts.ofSet(set.name)}</span>
              </a>
            </div>
          )}
        </td>
      </tr>
      {(problem !== null || job || (plan?.findings.length ?? 0) > 0) && (
        <tr>
          <td colSpan={6}>
            {problem !== null && <p class="measure">{problem}</p>}
            {plan?.findings.map(({ code, where, message }) => (
              <p class="measure small" key={`${code} ${where}`}>
                {message}
              </p>
            ))}
            {job && <SetProgress job={job} />}
          </td>
        </tr>
      )}
      {open && (
        <tr class="opened">
          <td colSpan={6}>
            <SetFiles files={sets.files.value ?? null} />
          </td>
        </tr>
      )}
    </>
  );
}

/** The progress of a set, and its failures. */
function SetProgress({ job }: { readonly job: SetJob }) {
  const isOpen = isOpenJob(job.state);
  const existing = job.kept > 0 ? texts.existing(job.kept) : '';
  return (
    <div class="set-progress">
      <p role="status">
        {job.total === 0 ? (job.kept === 0 ? texts.nothingToMake : texts.allExist) : describeJob(job) + existing}
      </p>
      {isOpen && <progress aria-label={texts.progress} value={job.done} max={Math.max(job.total, 1)} />}
      {job.failures.length > 0 && (
        <ul class="reasons small measure">
          {job.failures.slice(0, FAILURES).map((line) => (
            <li key={line}>{line}</li>
          ))}
          {job.failures.length > FAILURES && <li class="soft">{commonTexts.more(job.failures.length - FAILURES)}</li>}
        </ul>
      )}
    </div>
  );
}

/** The files of a set, to download one by one. A missing file is made on request. */
function SetFiles({ files }: { readonly files: readonly SetFileAnswer[] | null }) {
  const shown = useSignal(FILES);
  if (files === null) return <p class="soft">{texts.loadingFiles}</p>;
  if (files.length === 0) return <p>{texts.noFiles}</p>;
  return (
    <>
      <ul class="set-files">
        {files.slice(0, shown.value).map(({ name, address, made, bytes }) => (
          <li key={name}>
            <a href={address} download={name}>
              {name}
            </a>{' '}
            <span class="soft small">{made ? formatBytes(bytes!) : texts.notMade}</span>
          </li>
        ))}
      </ul>
      {files.length > shown.value && (
        <button
          type="button"
          onClick={() => {
            shown.value += FILES;
          }}
        >
          {commonTexts.showMoreOf(files.length - shown.value, 'file')}
        </button>
      )}
    </>
  );
}
