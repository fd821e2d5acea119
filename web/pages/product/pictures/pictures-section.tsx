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
import { Field, Notice, Select } from '../../../parts/form.tsx';
import { describeJob } from '../../../parts/jobs.ts';
import { PictureJob } from '../../../parts/picture-job.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import type { SetJob, SetRow } from './picture-sets-model.ts';

const texts = productTexts.pictures;
const setTexts = productTexts.pictureSets;

const ROWS = [
  ['all', texts.rowKinds.all],
  ['each-finish', texts.rowKinds['each-finish']],
  ['pairs', texts.rowKinds.pairs],
] as const;

/** Makes pictures of all variants, or of a check set, as a job. */
export function PicturesSection({ model }: { readonly model: ProductModel }) {
  const { pictures, schedule } = model;
  const rows = useSignal<(typeof ROWS)[number][0]>('all');
  useEffect(() => void pictures.find(), [pictures]);
  const names = new Map(schedule.saved.value.rows.map(({ code, name }) => [code, name]));
  const none = rows.value === 'all' && names.size === 0;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{none ? texts.noVariants : texts.intro}</p>
      </div>
      <PictureJob
        model={pictures}
        button={texts.make}
        disabled={none}
        onStart={() => void pictures.start(rows.value === 'all' ? {} : { checkSet: rows.value })}
        name={({ variant }) => names.get(variant) ?? variant}
      >
        <Field inline name={texts.rows}>
          <Select
            label={texts.rows}
            value={rows.value}
            options={ROWS}
            onPick={(picked) => {
              rows.value = picked;
            }}
          />
        </Field>
      </PictureJob>
    </section>
  );
}

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
        <h2>{setTexts.heading}</h2>
        <p class="small">
          {none ? setTexts.noVariants : setTexts.intro} <a href="/picture-sets">{setTexts.edit}</a>
        </p>
      </div>
      {!none && (
        <div class="scroll">
          <table class="picture-sets">
            <thead>
              <tr>
                <th scope="col">{setTexts.columns.set}</th>
                <th scope="col">{setTexts.columns.subject}</th>
                <th scope="col">{setTexts.columns.format}</th>
                <th scope="col" class="figure">
                  {setTexts.columns.files}
                </th>
                <th scope="col" class="figure">
                  {setTexts.columns.made}
                </th>
                <th scope="col">
                  <span class="unseen">{setTexts.actions}</span>
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
  const isOpen = job?.state === 'queued' || job?.state === 'running';
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
                  <span class="unseen">{setTexts.cancelSet(set.name)}</span>
                </button>
              ) : (
                <button type="button" disabled={missing === 0} onClick={() => void sets.make(set.code)}>
                  {plan.made === 0 ? setTexts.make : missing === 0 ? setTexts.allMade : setTexts.makeFiles(missing)}
                  <span class="unseen">{setTexts.ofSet(set.name)}</span>
                </button>
              )}
              <a href={plan.zip} download={`${model.code}_${set.code}.zip`}>
                {setTexts.zip}
                <span class="unseen">{setTexts.ofSet(set.name)}</span>
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
  const isOpen = job.state === 'queued' || job.state === 'running';
  const existing = job.kept > 0 ? setTexts.existing(job.kept) : '';
  return (
    <div class="set-progress">
      <p role="status">
        {job.total === 0 ? (job.kept === 0 ? setTexts.nothingToMake : setTexts.allExist) : describeJob(job) + existing}
      </p>
      {isOpen && <progress aria-label={setTexts.progress} value={job.done} max={Math.max(job.total, 1)} />}
      {job.failures.length > 0 && (
        <ul class="reasons small measure">
          {job.failures.slice(0, FAILURES).map((line) => (
            <li key={line}>{line}</li>
          ))}
          {job.failures.length > FAILURES && <li class="soft">{setTexts.more(job.failures.length - FAILURES)}</li>}
        </ul>
      )}
    </div>
  );
}

/** The files of a set, to download one by one. A missing file is made on request. */
function SetFiles({ files }: { readonly files: readonly SetFileAnswer[] | null }) {
  const shown = useSignal(FILES);
  if (files === null) return <p class="soft">{setTexts.loadingFiles}</p>;
  if (files.length === 0) return <p>{setTexts.noFiles}</p>;
  return (
    <>
      <ul class="set-files">
        {files.slice(0, shown.value).map(({ name, address, made, bytes }) => (
          <li key={name}>
            <a href={address} download={name}>
              {name}
            </a>{' '}
            <span class="soft small">{made ? formatBytes(bytes!) : setTexts.notMade}</span>
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
