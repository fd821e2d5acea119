import type { ComponentChildren } from 'preact';

interface FieldProps {
  readonly name: string;
  /** Name and control in one line. */
  readonly inline?: boolean;
  readonly children: ComponentChildren;
}

/** A field with its name over it, or before it. */
export function Field({ name, inline, children }: FieldProps) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the control comes as a child
    <label class={inline ? 'field inline' : 'field'}>
      <span>{name}</span>
      {children}
    </label>
  );
}
