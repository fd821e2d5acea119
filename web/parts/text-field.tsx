import { Field } from './field.tsx';

interface TextFieldProps {
  readonly name: string;
  readonly value: string;
  readonly onInput: (value: string) => void;
  /** Shown while the field is empty. */
  readonly instead?: string;
  readonly figure?: boolean;
  readonly required?: boolean;
  readonly maxLength?: number;
}

/** A labelled text field. */
export function TextField({ name, value, onInput, instead, figure, required, maxLength }: TextFieldProps) {
  return (
    <Field name={name}>
      <input
        class={value.trim() === '' && !instead ? 'blank' : undefined}
        value={value}
        placeholder={instead}
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
