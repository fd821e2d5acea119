import { describe, expect, it } from 'vitest';
import { applyTemplate, followsTemplate, makeRowTexts } from '../../../../server/core/schedule/row-template.ts';
import { checkSchedule, type Schedule } from '../../../../server/core/schedule/schedule.ts';
import { finish } from '../../../../server/core/slices.ts';
import { makeScope } from '../../../support/rules.ts';

interface Named {
  readonly finish: string;
  readonly name: string;
}

const { finishes, slots } = makeScope([]);
const getFinish = (code: string) => finishes.get(code.toLowerCase());
const [seat, piping] = slots.map(({ slot }) => slot) as [string, string];
const [one, two] = [...finishes.values()] as unknown as [Named, Named];

describe('the template of codes and names', () => {
  it('names each finish, in the order of the slots, where the product has no template', () => {
    const textsOf = makeRowTexts(undefined, [seat, piping], getFinish);
    expect(textsOf({ [seat]: one.finish, [piping]: two.finish })).toEqual({
      name: `${one.name} / ${two.name}`,
      code: `${one.finish}-${two.finish}`,
    });
    expect(textsOf({ [seat]: one.finish })).toEqual({ name: `${one.name} / as supplied`, code: one.finish });
    expect(textsOf({}).code).toBe('');
  });

  it('makes a code that is well formed, whatever stands around the finishes', () => {
    const textsOf = makeRowTexts({ code: ` Stool 45: {${seat}} ` }, [seat], getFinish);
    expect(textsOf({ [seat]: one.finish }).code).toBe(`Stool-45-${one.finish}`);
  });

  it('recognises a text that follows it, with a number too', () => {
    expect(followsTemplate('Oak', 'Oak', ' ')).toBe(true);
    expect(followsTemplate('Oak 2', 'Oak', ' ')).toBe(true);
    expect(followsTemplate('Oak dark', 'Oak', ' ')).toBe(false);
    expect(followsTemplate('-2', '', '-')).toBe(false);
  });

  it('keeps new codes and names apart from those of the other rows', () => {
    const rows: Schedule = {
      default: 'A',
      variants: [
        { code: 'A', name: one.name, choices: { [seat]: one.finish } },
        { code: 'B', name: 'b', choices: { [seat]: one.finish } },
        { code: 'C', name: 'c', choices: { [seat]: one.finish } },
      ],
    };
    const named = finish(applyTemplate(rows, [seat], finishes, { name: `{${seat}}` }, new Set(['b', 'c'])));
    expect(named.map(({ code, name }) => [code, name])).toEqual([
      ['A', one.name],
      ['B', `${one.name} 2`],
      ['C', `${one.name} 3`],
    ]);
  });

  it('stays with a schedule that is stored without one, until null removes it', () => {
    const variants = [{ code: 'A', name: 'A', choices: {} }];
    const first = checkSchedule({ default: 'A', variants, template: { name: ' {seat} ', code: ' ' } }, [], finishes);
    expect(first.template).toEqual({ name: '{seat}' });
    expect(checkSchedule({ default: 'A', variants }, [], finishes, first).template).toEqual({ name: '{seat}' });
    expect(checkSchedule({ default: 'A', variants, template: null }, [], finishes, first).template).toBeUndefined();
  });
});
