interface EditTextProps {
  readonly value: string;
  /** What the field is, for those who do not see where it stands. */
  readonly label: string;
  readonly onCommit: (value: string) => void;
  readonly invalid?: boolean;
  readonly size?: number;
  readonly list?: string;
}

/** A line to write on: Enter or leaving the field commits, Escape takes back what was typed. */
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
