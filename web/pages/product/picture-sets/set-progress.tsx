import { count } from '../../../format.ts';
import { describeJob } from '../../../parts/picture-job/describe-job.ts';
import type { SetJob } from './sets-model.ts';

/** Lines shown before the rest is counted. */
const LINES = 6;

/** How the making of a set stands, in a sentence; below it what did not come out. */
export function SetProgress({ job }: { readonly job: SetJob }) {
  const goesOn = job.state === 'queued' || job.state === 'running';
  const kept = job.kept > 0 ? ` ${count(job.kept, 'file')} ${job.kept === 1 ? 'was' : 'were'} there already.` : '';
  return (
    <div class="set-progress">
      <p role="status">
        {job.total === 0
          ? job.kept === 0
            ? 'There is no file to make.'
            : 'All files were there already.'
          : describeJob(job) + kept}
      </p>
      {goesOn && <progress aria-label="Files made" value={job.done} max={Math.max(job.total, 1)} />}
      {job.failures.length > 0 && (
        <ul class="reasons small measure">
          {job.failures.slice(0, LINES).map((line) => (
            <li key={line}>{line}</li>
          ))}
          {job.failures.length > LINES && <li class="soft">and {count(job.failures.length - LINES, 'more line')}</li>}
        </ul>
      )}
    </div>
  );
}
