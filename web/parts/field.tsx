import type { ComponentChildren } from 'preact';

interface FieldProps {
  readonly name: string;
  /** Puts name and control on one line. */
  readonly inline?: boolean;
  readonly children: ComponentChildren;
}

/** A labelled control; the label stands above it or before it. */
export function Field({ name, inline, children }: FieldProps) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the control is a child
    <label class={inline ? 'field inline' : 'field'}>
      <span>{name}</span>
      {children}
    </label>
  );
}
