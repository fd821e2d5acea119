import { useEffect } from 'preact/hooks';
import { count, formatBytes } from '../../../format.ts';
import { describeFormat, describeGround, describeSize, describeSubject } from '../../../parts/describe-picture-set.ts';
import { Notice } from '../../../parts/notice.tsx';
import type { ProductModel } from '../product-model.ts';
import { SetFiles } from './set-files.tsx';
import { SetProgress } from './set-progress.tsx';
import type { SetRow } from './sets-model.ts';

/** Picture sets: how many files each comes to, how many are made, making the rest, and all as one zip. */
export function SetsSection({ model }: { readonly model: ProductModel }) {
  const { sets, schedule } = model;
  const none = schedule.saved.value.rows.length === 0;
  const version = model.version.value;
  useEffect(() => void sets.find(), [sets]);
  // a schedule, a slot or a finish that was changed leaves fewer of them made; what it is changes with the version
  useEffect(() => {
    if (!none) void sets.load();
  }, [sets, version, none]);
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Picture sets</h2>
        <p class="small">
          {none
            ? 'The schedule has no variant yet: add one first.'
            : 'What each recipient gets. Running a set again makes only what has changed.'}{' '}
          <a href="/picture-sets">Make or change a set</a>
        </p>
      </div>
      {!none && (
        <div class="scroll">
          <table class="picture-sets">
            <thead>
              <tr>
                <th scope="col">Set</th>
                <th scope="col">Shows</th>
                <th scope="col">Size and format</th>
                <th scope="col" class="figure">
                  Files
                </th>
                <th scope="col" class="figure">
                  Made
                </th>
                <th scope="col">
                  <span class="unseen">What can be done</span>
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
      <Notice text={sets.trouble.value} />
    </section>
  );
}

function Row({ model, row: { set, plan, trouble } }: { readonly model: ProductModel; readonly row: SetRow }) {
  const { sets } = model;
  const job = sets.job.value?.set === set.code ? sets.job.value : null;
  const open = sets.open.value === set.code;
  const goesOn = job?.state === 'queued' || job?.state === 'running';
  const made = goesOn ? job.kept + job.done - job.failed : plan?.made;
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
          <small class="soft">{describeGround(set)}</small>
        </td>
        <td>
          {describeSize(set)}, {describeFormat(set)}
        </td>
        <td class="figure">{plan?.total ?? ''}</td>
        <td class="figure">
          {made ?? ''}
          {plan && plan.bytes > 0 && !goesOn && <small class="soft">{formatBytes(plan.bytes)}</small>}
        </td>
        <td>
          {plan && (
            <div class="actions set-does">
              {goesOn ? (
                <button type="button" onClick={() => void sets.cancel()}>
                  Cancel<span class="unseen"> {set.name}</span>
                </button>
              ) : (
                <button type="button" disabled={missing === 0} onClick={() => void sets.make(set.code)}>
                  {plan.made === 0 ? 'Make' : missing === 0 ? 'All made' : `Make ${count(missing, 'file')}`}
                  <span class="unseen"> of {set.name}</span>
                </button>
              )}
              <a href={plan.zip} download={`${model.code}_${set.code}.zip`}>
                Zip<span class="unseen"> of {set.name}</span>
              </a>
            </div>
          )}
        </td>
      </tr>
      {(trouble !== null || job || (plan?.findings.length ?? 0) > 0) && (
        <tr>
          <td colSpan={6}>
            {trouble !== null && <p class="measure">{trouble}</p>}
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
