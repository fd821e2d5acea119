import type { ComponentChildren } from 'preact';
import type { ArrivedPicture } from '../../../server/http/picture-answers.ts';
import { count } from '../../format.ts';
import { Field } from '../field.tsx';
import { Notice } from '../notice.tsx';
import { Picture } from '../picture.tsx';
import { Select } from '../select.tsx';
import type { PictureJobModel } from './picture-job-model.ts';
import { sayJob } from './say-job.ts';

const SIZES = ['512', '1024', '2048'] as const;

interface PictureJobProps {
  readonly model: PictureJobModel;
  /** On the button that starts it. */
  readonly words: string;
  readonly disabled: boolean;
  readonly onStart: () => void;
  /** A caption for each picture. */
  readonly name: (picture: ArrivedPicture) => string;
  /** Further fields, before the button. */
  readonly children?: ComponentChildren;
}

/** Starting a job of pictures, its progress in a line, and the pictures as they arrive. */
export function PictureJob({ model, words, disabled, onStart, name, children }: PictureJobProps) {
  const job = model.job.value;
  const goesOn = job?.state === 'queued' || job?.state === 'running';
  return (
    <>
      <div class="actions">
        {children}
        <Field inline name="Size in pixels">
          <Select
            label="Size in pixels"
            value={String(model.size.value)}
            options={SIZES.map((size) => [size, size])}
            onPick={(size) => {
              model.size.value = Number(size);
            }}
          />
        </Field>
        <Field inline name="Format">
          <Select
            label="Format"
            value={model.format.value}
            options={[
              ['webp', 'WebP'],
              ['png', 'PNG'],
              ['jpg', 'JPEG, on white'],
            ]}
            onPick={(format) => {
              model.format.value = format;
            }}
          />
        </Field>
        <button type="button" class="main" disabled={goesOn || disabled} onClick={onStart}>
          {words}
        </button>
        {goesOn && (
          <button type="button" onClick={() => void model.cancel()}>
            Cancel
          </button>
        )}
      </div>
      {job && (
        <div class="job">
          <p role="status">{sayJob(job)}</p>
          {goesOn && <progress aria-label="Pictures made" value={job.done} max={Math.max(job.total, 1)} />}
          <Reasons label="Left out" lines={model.leftOut.value} />
          <Reasons label="Did not come out" lines={job.failures} />
          <Pictures model={model} name={name} />
        </div>
      )}
      <Notice text={model.trouble.value} />
    </>
  );
}

/** Lines shown before the rest is counted. */
const LINES = 6;

function Reasons({ label, lines }: { readonly label: string; readonly lines: readonly string[] }) {
  if (lines.length === 0) return null;
  return (
    <div class="measure small">
      <h3>{label}</h3>
      <ul class="reasons">
        {lines.slice(0, LINES).map((line) => (
          <li key={line}>{line}</li>
        ))}
        {lines.length > LINES && <li class="soft">and {count(lines.length - LINES, 'more line')}</li>}
      </ul>
    </div>
  );
}

/** The latest in places of their own; all in order when one asks for them. */
function Pictures({ model, name }: Pick<PictureJobProps, 'model' | 'name'>) {
  const { done, total } = model.job.value!;
  const listed = model.listed.value;
  const latest = model.places.shown.value;
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
            {listed ? `Show more of ${count(total, 'picture')}` : 'Show them in order'}
          </button>
        </p>
      )}
    </>
  );
}
