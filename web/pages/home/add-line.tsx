import { useSignal } from '@preact/signals';
import { toKey } from '../../../server/core/codes.ts';
import { call, getErrorMessage, seg } from '../../api.ts';
import { Field, Notice } from '../../parts/form.tsx';
import { navigate } from '../../router.ts';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts } from '../../texts/home.ts';

/** Adds a line: asks its name, derives the code, then opens its page. */
export function AddLine({ existing }: { readonly existing: readonly string[] }) {
  const open = useSignal(false);
  const name = useSignal('');
  const trouble = useSignal<string | null>(null);
  const code = toKey(name.value);
  const exists = existing.some((line) => line.toLowerCase() === code);
  if (!open.value) {
    return (
      <p class="no-print beginning">
        <button
          type="button"
          onClick={() => {
            open.value = true;
          }}
        >
          {homeTexts.addLine}
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
        <Field name={homeTexts.lineName}>
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
          {exists ? homeTexts.lineExists(code) : code && homeTexts.lineCode(code)}
        </p>
      </div>
      <div class="actions">
        <button type="submit" class="main" disabled={code === '' || exists}>
          {homeTexts.addLine}
        </button>
        <button
          type="button"
          onClick={() => {
            open.value = false;
          }}
        >
          {commonTexts.cancel}
        </button>
      </div>
      <Notice text={trouble.value} />
    </form>
  );
}
