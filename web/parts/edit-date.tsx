interface EditDateProps {
  /** `yyyy-mm-dd`, or empty. */
  readonly value: string;
  readonly onCommit: (value: string) => void;
}

/** A day to write or pick: leaving the field or Enter commits, so that a year half written is not taken for a day. */
export function EditDate({ value, onCommit }: EditDateProps) {
  return (
    <input
      type="date"
      value={value}
      onBlur={(event) => {
        const given = event.currentTarget.value;
        if (given !== value && (given !== '' || event.currentTarget.validity.valid)) onCommit(given);
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
