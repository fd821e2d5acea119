import { useSignal } from '@preact/signals';
import { sendToken, tokenWanted } from '../session.ts';
import { commonTexts } from '../texts/common.ts';

const texts = commonTexts.token;

/** Asks for the token when the service needs one. Waiting calls then continue by themselves. */
export function TokenForm() {
  const trouble = useSignal<string | null>(null);
  if (!tokenWanted.value) return null;
  return (
    <form
      class="notice arrives no-print"
      onSubmit={async (event) => {
        event.preventDefault();
        const field = event.currentTarget.elements.namedItem('token') as HTMLInputElement;
        trouble.value = await sendToken(field.value.trim());
      }}
    >
      <p class="measure">{texts.intro}</p>
      <div class="actions">
        <label class="field">
          <span>{texts.field}</span>
          <input type="password" name="token" autocomplete="current-password" required size={36} />
        </label>
        <button type="submit" class="main">
          {texts.submit}
        </button>
      </div>
      <p role="alert">{trouble.value}</p>
    </form>
  );
}
