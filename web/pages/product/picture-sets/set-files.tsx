import { useSignal } from '@preact/signals';
import type { SetFileAnswer } from '../../../../server/http/contracts/picture-set.ts';
import { count, formatBytes } from '../../../format.ts';

/** Files listed at first and with every step. */
const STEP = 50;

/** The files of a set, each to be had by itself; one that is not there is made when it is asked for. */
export function SetFiles({ files }: { readonly files: readonly SetFileAnswer[] | null }) {
  const shown = useSignal(STEP);
  if (files === null) return <p class="soft">Looking which files are made.</p>;
  if (files.length === 0) return <p>The set comes to no file of this product.</p>;
  return (
    <>
      <ul class="set-files">
        {files.slice(0, shown.value).map(({ name, address, made, bytes }) => (
          <li key={name}>
            <a href={address} download={name}>
              {name}
            </a>{' '}
            <span class="soft small">{made ? formatBytes(bytes!) : 'not made yet'}</span>
          </li>
        ))}
      </ul>
      {files.length > shown.value && (
        <button
          type="button"
          onClick={() => {
            shown.value += STEP;
          }}
        >
          Show more; {count(files.length - shown.value, 'file')} follow
        </button>
      )}
    </>
  );
}
