import { describe, expect, it } from 'vitest';
import { FINDINGS, type Finding, type FindingCode } from '../../../../server/core/product/finding.ts';
import { groupFindings } from '../../../../server/core/product/group-findings.ts';
import { listProposals } from '../../../../server/core/repair/list-proposals.ts';
import type { Repair } from '../../../../server/core/repair/repair.ts';

const make = (
  code: FindingCode,
  finding: Omit<Finding, 'code' | 'severity'>,
  severity?: Finding['severity'],
): Finding => ({
  code,
  severity: severity ?? FINDINGS[code],
  ...finding,
});
const unnamed = (index: number) =>
  make('unnamed-material', {
    where: `/materials/${index}`,
    place: `unnamed material ${index}`,
    message: `Name it, such as “Part ${index}”.`,
    repairs: [{ repair: 'rename-materials', names: [{ from: `/materials/${index}`, to: `Part ${index}` }] }],
  });
const metal = (name: string) =>
  make('metal-on-nonmetal', {
    where: '/materials/0',
    message: `${name} is metal.`,
    repairs: [{ repair: 'set-nonmetal', materials: [name] }],
  });

describe('findings with one cause', () => {
  const fifty = Array.from({ length: 50 }, (_, index) => unnamed(index));

  it('become one, with every place, its message, and one repair that settles all of them', () => {
    const [finding, ...others] = groupFindings(fifty);
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ code: 'unnamed-material', severity: 'note', where: '/materials/0' });
    expect(finding!.message).toContain('50 materials');
    expect(finding!.place).toBe('unnamed material 0; unnamed material 1; unnamed material 2 and 47 more');
    expect(finding!.places).toHaveLength(50);
    expect(finding!.places![7]).toMatchObject({ where: '/materials/7', message: 'Name it, such as “Part 7”.' });
    expect(finding!.repairs).toHaveLength(1);
    expect((finding!.repairs![0] as Extract<Repair, { repair: 'rename-materials' }>).names).toHaveLength(50);
  });

  it('keep the position of the first, and propose the same repairs as separate ones', () => {
    const all = [metal('Oak'), ...fifty, metal('Felt')];
    const grouped = groupFindings(all);
    expect(grouped.map(({ code }) => code)).toEqual(['metal-on-nonmetal', 'unnamed-material']);
    expect(grouped[0]!.repairs).toEqual([{ repair: 'set-nonmetal', materials: ['Oak', 'Felt'] }]);
    expect(listProposals(grouped)).toEqual(listProposals(all));
  });

  it('stay unchanged if there is only one, or if severities differ', () => {
    const note = make('implausible-map', { where: '/materials/1', message: 'Grey.' }, 'note');
    const warning = make('implausible-map', { where: '/materials/2', message: 'Flat.' });
    expect(groupFindings([note, warning])).toEqual([note, warning]);
  });

  it('stay separate if each has its own cause', () => {
    const broken = [1, 2].map((n) => make('rule-broken', { where: 'slot seat', message: `Pair ${n}.` }));
    expect(groupFindings(broken)).toEqual(broken);
  });

  it('say that there are more if no sentence covers all', () => {
    const places = [1, 2, 3].map((n) => make('moire', { where: `slot ${n}`, message: `Pattern ${n} shimmers.` }));
    const [finding] = groupFindings(places);
    expect(finding!.message).toBe('Pattern 1 shimmers. 2 more places have findings of this kind.');
    expect(finding!.repairs).toBeUndefined();
  });
});
