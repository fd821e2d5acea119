interface SelectProps<T extends string> {
  readonly label: string;
  readonly value: T;
  readonly options: readonly (readonly [value: T, words: string])[];
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
      {options.map(([option, words]) => (
        <option key={option} value={option} selected={option === value}>
          {words}
        </option>
      ))}
    </select>
  );
}
