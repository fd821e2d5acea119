import type { ComponentChildren } from 'preact';

/** A message with buttons for the next steps. Screen readers announce it. */
export function Notice({ text, children }: { readonly text: string | null; readonly children?: ComponentChildren }) {
  return (
    <div role="status">
      {text && (
        <div class="notice arrives">
          <p class="measure">{text}</p>
          {children && <div class="actions">{children}</div>}
        </div>
      )}
    </div>
  );
}
