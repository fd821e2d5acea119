import { useSignal } from '@preact/signals';
import { PASSPHRASE_LENGTH } from '../../../server/core/access/passphrase.ts';
import { Field, Notice } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { choosePassphrase } from '../../session.ts';
import { accessTexts } from '../../texts/access.ts';

const texts = accessTexts.passphrase;

/** Where a link to choose a passphrase leads. The secret follows the hash sign, which browsers send to no server. */
export function PassphrasePage() {
  const problem = useSignal<string | null>(location.hash.length > 1 ? null : texts.noLink);
  const saved = useSignal(false);
  return (
    <>
      <Heading text={texts.heading} />
      {saved.value ? (
        <Notice text={texts.saved}>
          <a href="/">{texts.toSignIn}</a>
        </Notice>
      ) : (
        <form
          class="form"
          onSubmit={async (event) => {
            event.preventDefault();
            const { elements } = event.currentTarget;
            const read = (name: string) => (elements.namedItem(name) as HTMLInputElement).value;
            if (read('passphrase') !== read('again')) {
              problem.value = texts.differ;
              return;
            }
            problem.value = await choosePassphrase(location.hash.slice(1), read('passphrase'));
            saved.value = problem.value === null;
            // the address is kept in the history of the browser; the secret has no more use there
            if (saved.value) history.replaceState(null, '', location.pathname);
          }}
        >
          <p class="measure whole">{texts.intro}</p>
          <PassphraseFields />
          <div class="actions whole">
            <button type="submit" class="main">
              {texts.save}
            </button>
          </div>
          <div class="whole">
            <Notice text={problem.value} />
          </div>
        </form>
      )}
    </>
  );
}

/** The fields for a new passphrase, typed twice. */
export function PassphraseFields() {
  return (
    <>
      <Field name={texts.field}>
        <input
          type="password"
          name="passphrase"
          autocomplete="new-password"
          required
          minLength={PASSPHRASE_LENGTH.min}
        />
      </Field>
      <Field name={texts.again}>
        <input type="password" name="again" autocomplete="new-password" required minLength={PASSPHRASE_LENGTH.min} />
      </Field>
    </>
  );
}
