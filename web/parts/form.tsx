import { useSignal } from '@preact/signals';
import type { ComponentChildren, TargetedKeyboardEvent } from 'preact';
import { commonTexts } from '../texts/common.ts';

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

/** Moves the focus to an element as it appears, and the element into view. Screen readers then read it. */
export function takeFocus(element: HTMLElement | null): void {
  element?.focus({ preventScroll: true });
  element?.scrollIntoView({ block: 'nearest' });
}

interface TextFieldProps {
  readonly name: string;
  readonly value: string;
  readonly onInput: (value: string) => void;
  /** Shown while the field is empty. */
  readonly placeholder?: string;
  readonly figure?: boolean;
  readonly required?: boolean;
  readonly maxLength?: number;
  /** Takes the focus when it appears. */
  readonly focused?: boolean;
}

/** A labelled text field. */
export function TextField({ name, value, onInput, placeholder, figure, required, maxLength, focused }: TextFieldProps) {
  return (
    <Field name={name}>
      <input
        ref={focused ? takeFocus : undefined}
        dir={figure ? undefined : 'auto'}
        class={value.trim() === '' && !placeholder ? 'blank' : undefined}
        value={value}
        placeholder={placeholder}
        required={required}
        maxLength={maxLength}
        inputMode={figure ? 'decimal' : undefined}
        spellcheck={!figure}
        autocomplete="off"
        onInput={(event) => onInput(event.currentTarget.value)}
      />
    </Field>
  );
}

interface SelectProps<T extends string> {
  readonly label: string;
  readonly value: T;
  readonly options: readonly (readonly [value: T, label: string])[];
  readonly onPick: (value: T) => void;
  readonly disabled?: boolean;
}

export function Select<T extends string>({ label, value, options, onPick, disabled }: SelectProps<T>) {
  return (
    <select
      aria-label={label}
      value={value}
      disabled={disabled}
      onChange={(event) => onPick(event.currentTarget.value as T)}
    >
      {options.map(([option, text]) => (
        <option key={option} value={option} selected={option === value}>
          {text}
        </option>
      ))}
    </select>
  );
}

/** Enter leaves a field, which commits it. Escape restores the value first. */
function commitOrRestore({ key, currentTarget }: TargetedKeyboardEvent<HTMLInputElement>, value: string): void {
  if (key === 'Escape') currentTarget.value = value;
  if (key === 'Enter' || key === 'Escape') currentTarget.blur();
}

interface EditTextProps {
  readonly value: string;
  /** For screen readers. */
  readonly label: string;
  readonly onCommit: (value: string) => void;
  readonly invalid?: boolean;
  readonly size?: number;
  readonly list?: string;
}

/** A text field. Enter or blur commits; Escape restores the value. */
export function EditText({ value, label, onCommit, invalid, size, list }: EditTextProps) {
  /** Kept until it is committed: the page may be drawn again while someone types. */
  const typed = useSignal<string | null>(null);
  return (
    <input
      type="text"
      value={typed.value ?? value}
      aria-label={label}
      aria-invalid={invalid ? 'true' : undefined}
      size={size}
      list={list}
      spellcheck={false}
      autocomplete="off"
      onInput={(event) => {
        typed.value = event.currentTarget.value;
      }}
      onChange={(event) => {
        const text = event.currentTarget.value.trim();
        typed.value = null;
        if (text === value) event.currentTarget.value = value;
        else onCommit(text);
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') typed.value = null;
        commitOrRestore(event, value);
      }}
    />
  );
}

interface EditDateProps {
  /** `yyyy-mm-dd`, or empty. */
  readonly value: string;
  readonly onCommit: (value: string) => void;
}

/** A date field. It commits on Enter or blur, so that a half-typed year is not stored. */
export function EditDate({ value, onCommit }: EditDateProps) {
  return (
    <input
      type="date"
      value={value}
      onBlur={(event) => {
        const given = event.currentTarget.value;
        if (given !== value && (given !== '' || event.currentTarget.validity.valid)) onCommit(given);
      }}
      onKeyDown={(event) => commitOrRestore(event, value)}
    />
  );
}

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

interface QuestionProps {
  readonly text: string;
  /** Text of the button that goes ahead. */
  readonly confirm: string;
  readonly disabled?: boolean;
  readonly onConfirm: () => void;
  readonly onCancel: () => void;
}

/** A question before an action that loses something. It replaces the button of the action. */
export function Question({ text, confirm, disabled, onConfirm, onCancel }: QuestionProps) {
  return (
    <div class="actions">
      <p>{text}</p>
      <button type="button" disabled={disabled} onClick={onConfirm}>
        {confirm}
      </button>
      <button type="button" disabled={disabled} onClick={onCancel}>
        {commonTexts.cancel}
      </button>
    </div>
  );
}
