import { describe, expect, it } from 'vitest';
import { classifyDriver } from '../../renderer/driver.ts';
import { needsNoSandbox } from '../../renderer/launch-browser.ts';

describe('the sandbox', () => {
  it('is off only for root in a container, unless the caller says otherwise', () => {
    expect(needsNoSandbox({ uid: 0, inContainer: true, setting: undefined })).toBe(true);
    expect(needsNoSandbox({ uid: 0, inContainer: false, setting: undefined })).toBe(false);
    expect(needsNoSandbox({ uid: 1000, inContainer: true, setting: undefined })).toBe(false);
    expect(needsNoSandbox({ uid: undefined, inContainer: false, setting: undefined })).toBe(false);
    expect(needsNoSandbox({ uid: 1000, inContainer: false, setting: true })).toBe(true);
    expect(needsNoSandbox({ uid: 0, inContainer: true, setting: false })).toBe(false);
  });
});

describe('the driver', () => {
  it('is read from the GL renderer string', () => {
    expect(classifyDriver('ANGLE (Mesa, llvmpipe (LLVM 15.0.6, 256 bits), OpenGL 4.5)')).toBe('llvmpipe');
    expect(classifyDriver('ANGLE (Google, Vulkan 1.3.0 (SwiftShader Device (Subzero)), SwiftShader driver)')).toBe(
      'swiftshader',
    );
    expect(classifyDriver('ANGLE (Intel, Mesa Intel(R) Graphics (ADL GT2), OpenGL ES 3.2)')).toBe('gpu');
  });
});
