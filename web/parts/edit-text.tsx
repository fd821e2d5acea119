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
  return (
    <input
      type="text"
      value={value}
      aria-label={label}
      aria-invalid={invalid ? 'true' : undefined}
      size={size}
      list={list}
      spellcheck={false}
      autocomplete="off"
      onChange={(event) => {
        const typed = event.currentTarget.value.trim();
        if (typed === value) event.currentTarget.value = value;
        else onCommit(typed);
      }}
      onKeyDown={(event) => {
        if (event.key === 'Enter') event.currentTarget.blur();
        if (event.key === 'Escape') {
          event.currentTarget.value = value;
          event.currentTarget.blur();
        }
      }}
    />
  );
}
