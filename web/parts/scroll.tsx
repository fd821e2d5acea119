import type { ComponentChildren } from 'preact';

/** A wide table with a scroll bar of its own, which the keyboard reaches. */
export function Scroll({ label, children }: { readonly label: string; readonly children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: arrow keys scroll it
    // biome-ignore lint/a11y/useSemanticElements: a fieldset is for fields
    <div class="scroll" role="group" aria-label={label} tabIndex={0}>
      {children}
    </div>
  );
}
