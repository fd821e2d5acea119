import { useSignal } from '@preact/signals';
import { toKey } from '../../../server/core/codes.ts';
import { call, getErrorMessage, seg } from '../../api.ts';
import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { navigate } from '../../router.ts';

/** Beginning a line: its name, from which the code is made, and on to its sheet. */
export function AddLine({ taken }: { readonly taken: readonly string[] }) {
  const open = useSignal(false);
  const name = useSignal('');
  const trouble = useSignal<string | null>(null);
  const code = toKey(name.value);
  const known = taken.some((line) => line.toLowerCase() === code);
  if (!open.value) {
    return (
      <p class="no-print beginning">
        <button
          type="button"
          onClick={() => {
            open.value = true;
          }}
        >
          Begin a line
        </button>
      </p>
    );
  }
  return (
    <form
      class="adding arrives no-print beginning"
      onSubmit={async (event) => {
        event.preventDefault();
        try {
          await call('PUT', `/api/lines/${seg(code)}`, { json: { name: name.value } });
          navigate(`/lines/${seg(code)}`);
        } catch (error) {
          trouble.value = getErrorMessage(error);
        }
      }}
    >
      <div class="form">
        <Field name="Name of the line">
          <input
            value={name.value}
            required
            maxLength={120}
            onInput={(event) => {
              name.value = event.currentTarget.value;
            }}
          />
        </Field>
        <p class="soft small" role="status">
          {known ? `There is a line ${code} already.` : code && `Its code will be ${code}.`}
        </p>
      </div>
      <div class="actions">
        <button type="submit" class="main" disabled={code === '' || known}>
          Begin the line
        </button>
        <button
          type="button"
          onClick={() => {
            open.value = false;
          }}
        >
          Leave it
        </button>
      </div>
      <Notice text={trouble.value} />
    </form>
  );
}
