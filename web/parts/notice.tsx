import type { ComponentChildren } from 'preact';

/** A sentence that wants to be read, with what can be done about it; said aloud when it appears. */
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
