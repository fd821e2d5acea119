import { useRef } from 'preact/hooks';
import type { Sheet } from '../../../server/core/product/product.ts';

interface SheetSizeProps {
  readonly sheet: Sheet | null;
  readonly onCommit: (sheet: Sheet | null) => void;
}

const SIDES = [
  ['widthMm', 'Width'],
  ['depthMm', 'Depth'],
  ['heightMm', 'Height'],
] as const;

/** The three figures of the data sheet: taken when all are there, or when all are gone. */
export function SheetSize({ sheet, onCommit }: SheetSizeProps) {
  const place = useRef<HTMLSpanElement>(null);
  const commit = () => {
    const values = [...(place.current?.querySelectorAll('input') ?? [])].map((input) => input.valueAsNumber);
    const [widthMm, depthMm, heightMm] = values;
    if (values.every(Number.isNaN)) {
      if (sheet) onCommit(null);
    } else if (values.every((value) => value > 0)) {
      onCommit({ widthMm: widthMm!, depthMm: depthMm!, heightMm: heightMm! });
    }
  };
  return (
    <span class="three" ref={place}>
      {SIDES.map(([side, name]) => (
        <input
          key={side}
          type="number"
          min="0.1"
          step="any"
          aria-label={`${name} by the data sheet, mm`}
          value={sheet?.[side] ?? ''}
          onChange={commit}
        />
      ))}
    </span>
  );
}
