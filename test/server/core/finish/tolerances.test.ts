import { describe, expect, it } from 'vitest';
import { FAMILIES } from '../../../../server/core/finish/finish.ts';
import { toleranceOf } from '../../../../server/core/finish/tolerances.ts';

describe('the tolerance of a family', () => {
  // AAMA 2604 and 2605, as quoted: 2 ΔE for solid colours, metallic and mica excluded (2605 §7.1.2)
  it.each(['paint', 'powder-coat', 'plastic', 'ceramic'] as const)('of %s is 2 ΔE, metallics left out', (family) => {
    expect(toleranceOf(family)).toMatchObject({ formula: 'ab', limit: 2, rests: 'standard' });
    expect(toleranceOf(family, true)).toMatchObject({ formula: 'ab', limit: null });
    // whose ΔE, the quotations do not say (ASTM D2244-15a, §5.2: coaters of aluminium use Hunter units)
    expect(toleranceOf(family).source).toContain('do not say whether Hunter units');
  });

  // formula: ISO 105-J03; the limit is common practice
  it.each(['textile', 'leather'] as const)('of %s is CMC(2:1) 1.0, by practice', (family) => {
    expect(toleranceOf(family)).toMatchObject({ formula: 'cmc-2-1', limit: 1, rests: 'practice' });
  });

  it('of all others is ΔE00 2, by practice', () => {
    const others = FAMILIES.filter((family) => toleranceOf(family).formula === 'de2000');
    expect(others).toEqual(['anodised', 'plated', 'bare-metal', 'wood', 'glass', 'stone', 'paper']);
    for (const family of others) expect(toleranceOf(family)).toMatchObject({ limit: 2, rests: 'practice' });
  });
});
