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
