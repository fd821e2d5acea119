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
