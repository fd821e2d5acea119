import { useSignal } from '@preact/signals';
import { giveToken, tokenWanted } from '../session.ts';

/** Asks for the token when the service wants one; what waited for it goes on by itself. */
export function TokenForm() {
  const trouble = useSignal<string | null>(null);
  if (!tokenWanted.value) return null;
  return (
    <form
      class="notice arrives no-print"
      onSubmit={async (event) => {
        event.preventDefault();
        const field = event.currentTarget.elements.namedItem('token') as HTMLInputElement;
        trouble.value = await giveToken(field.value.trim());
      }}
    >
      <p class="measure">
        This service is opened with a token: the one it was started with. The browser keeps it in a cookie that no
        script can read.
      </p>
      <div class="actions">
        <label class="field">
          <span>Token</span>
          <input type="password" name="token" autocomplete="current-password" required size={36} />
        </label>
        <button type="submit" class="main">
          Open
        </button>
      </div>
      <p role="alert">{trouble.value}</p>
    </form>
  );
}
