import { expect, it } from 'vitest';
import { listNewFindings } from '../../../../server/core/delivery/new-findings.ts';
import type { Finding } from '../../../../server/core/product/finding.ts';
import { groupFindings } from '../../../../server/core/product/group-findings.ts';

const finding = (code: Finding['code'], where: string, severity: Finding['severity'] = 'warning'): Finding => ({
  code,
  severity,
  where,
  message: `${code} at ${where}.`,
});

it('lists the findings that an earlier delivery does not have, also one more place of a known cause', () => {
  const known = groupFindings([finding('missing-uv', 'a'), finding('missing-uv', 'b'), finding('validator', 'file')]);
  expect(known).toHaveLength(2);
  const now = [finding('missing-uv', 'a'), finding('missing-uv', 'c'), finding('validator', 'file')];
  expect(listNewFindings(known, now)).toEqual([finding('missing-uv', 'c')]);
  expect(listNewFindings(known, known)).toEqual([]);
  expect(listNewFindings([], now)).toEqual(groupFindings(now));
});

it('calls a finding that became more severe a new one', () => {
  const now = finding('validator', 'file', 'error');
  expect(listNewFindings([finding('validator', 'file')], [now])).toEqual([now]);
});
