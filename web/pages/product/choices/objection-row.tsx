import type { Objection } from '../../../../server/core/schedule/guide-choices.ts';
import type { ProductModel } from '../product-model.ts';
import { type Row, setChoice } from '../schedule-edit.ts';

interface ObjectionRowProps {
  readonly model: ProductModel;
  readonly row: Row;
  readonly objections: readonly Objection[];
}

/** What stands against a row, under it, with what would settle it where a rule says so. */
export function ObjectionRow({ model, row, objections }: ObjectionRowProps) {
  const label = (key: string) => model.columns.value.find(({ slot }) => slot === key)?.label ?? key;
  return (
    <tr class="objections">
      <td />
      <td colSpan={2 + model.columns.value.length}>
        <ul>
          {objections.map(({ message, follow }) => (
            <li key={message}>
              <span class="measure">{message}</span>{' '}
              {follow && (
                <button
                  type="button"
                  class="no-print"
                  onClick={() => model.schedule.edit((draft) => setChoice(draft, row.key, follow.slot, follow.finish))}
                >
                  Put {follow.finish} on {label(follow.slot)}
                </button>
              )}
            </li>
          ))}
        </ul>
      </td>
    </tr>
  );
}
