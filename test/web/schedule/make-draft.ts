import { listColumns } from '../../../web/pages/product/schedule/grid/grid-columns.ts';
import { type Draft, fromSchedule } from '../../../web/pages/product/schedule/schedule-draft.ts';

export const SLOTS = [
  { slot: 'seat', label: 'Seat' },
  { slot: 'legs', label: 'Legs' },
];
export const COLUMNS = listColumns(SLOTS);
export const column = (id: string) => COLUMNS.find((each) => each.id === id || each.id === `slot ${id}`)!;

/** Rows as words: code, name, seat, legs; “-” for an empty cell. */
export function makeDraft(...rows: string[]): Draft {
  return fromSchedule({
    default: rows[0]?.split(' ')[0] ?? '',
    variants: rows.map((row) => {
      const [code, name, seat, legs] = row.split(' ') as [string, string, string, string];
      const choices = [
        ['seat', seat],
        ['legs', legs],
      ].filter(([, finish]) => finish !== '-');
      return { code, name, choices: Object.fromEntries(choices) };
    }),
  });
}

export const show = ({ rows }: Draft) =>
  rows.map(({ code, name, choices }) => [code, name, choices.seat ?? '-', choices.legs ?? '-'].join(' '));

/** Finishes of the tests, by code: their name. */
export const NAMES: Readonly<Record<string, string>> = { OAK: 'Oak', ASH: 'Ash', TEAK: 'Teak', INK: 'Ink blue' };
export const FINISHES = Object.entries(NAMES).map(([finish, name]) => ({ finish, name }));
