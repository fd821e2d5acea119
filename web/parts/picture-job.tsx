import type { ComponentChildren } from 'preact';
import type { JobPicture } from '../../server/http/contracts/job.ts';
import { commonTexts } from '../texts/common.ts';
import { pictureJobTexts as texts } from '../texts/pictures.ts';
import { Field, Notice, Select } from './form.tsx';
import { describeJob, isOpenJob } from './jobs.ts';
import { Picture } from './picture.tsx';
import type { PictureJobModel } from './picture-job-model.ts';

const SIZES_PX = ['512', '1024', '2048'] as const;
const FORMATS = ['webp', 'png', 'jpg'] as const;

interface PictureJobProps {
  readonly model: PictureJobModel;
  /** Text of the button that starts the job. */
  readonly button: string;
  readonly disabled: boolean;
  readonly onStart: () => void;
  /** Gives a picture its caption. */
  readonly name: (picture: JobPicture) => string;
  /** More fields, before the button. */
  readonly children?: ComponentChildren;
}

/** Starts a picture job, and shows its progress and the pictures as they arrive. */
export function PictureJob({ model, button, disabled, onStart, name, children }: PictureJobProps) {
  const job = model.job.value;
  const isOpen = job !== null && isOpenJob(job.state);
  return (
    <>
      <div class="actions">
        {children}
        <Field inline name={texts.size}>
          <Select
            label={texts.size}
            value={String(model.size.value)}
            options={SIZES_PX.map((size) => [size, size])}
            onPick={(size) => {
              model.size.value = Number(size);
            }}
          />
        </Field>
        <Field inline name={texts.format}>
          <Select
            label={texts.format}
            value={model.format.value}
            options={FORMATS.map((format) => [format, texts.formats[format]] as const)}
            onPick={(format) => {
              model.format.value = format;
            }}
          />
        </Field>
        <button type="button" class="main" disabled={isOpen || disabled} onClick={onStart}>
          {button}
        </button>
        {isOpen && (
          <button type="button" onClick={() => void model.cancel()}>
            {commonTexts.cancel}
          </button>
        )}
      </div>
      {job && (
        <div class="job">
          <p role="status">{describeJob(job)}</p>
          {isOpen && <progress aria-label={texts.progress} value={job.done} max={Math.max(job.total, 1)} />}
          <Reasons label={texts.skipped} lines={model.skipped.value} />
          <Reasons label={texts.failed} lines={job.failures} />
          <Pictures model={model} name={name} />
        </div>
      )}
      <Notice text={model.problem.value} />
    </>
  );
}

/** Reasons that are listed; the rest is counted. */
const LISTED_REASONS = 6;

function Reasons({ label, lines }: { readonly label: string; readonly lines: readonly string[] }) {
  if (lines.length === 0) return null;
  return (
    <div class="measure small">
      <h3>{label}</h3>
      <ul class="reasons">
        {lines.slice(0, LISTED_REASONS).map((line) => (
          <li key={line}>{line}</li>
        ))}
        {lines.length > LISTED_REASONS && <li class="soft">{commonTexts.more(lines.length - LISTED_REASONS)}</li>}
      </ul>
    </div>
  );
}

/** The latest pictures in fixed places, or all in order on request. */
function Pictures({ model, name }: Pick<PictureJobProps, 'model' | 'name'>) {
  const { done, total } = model.job.value!;
  const listed = model.listed.value;
  const latest = model.latest.shown.value;
  const more = listed ? listed.next < done : done > latest.length;
  return (
    <>
      <ul class="strip">
        {(listed?.pictures ?? latest).map((picture, place) => (
          <li key={listed ? picture.part : place}>
            <a href={picture.url} target="_blank" rel="noreferrer">
              <Picture address={picture.url} alt="" ready />
              <span class="small">{name(picture)}</span>
            </a>
          </li>
        ))}
      </ul>
      {more && latest.length > 0 && (
        <p>
          <button type="button" onClick={() => void model.listMore()}>
            {listed ? texts.showMoreOf(total) : texts.showAll}
          </button>
        </p>
      )}
    </>
  );
}
