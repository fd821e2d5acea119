import { validateBytes } from 'gltf-validator';

/** Errors that the Khronos validator finds in a file, as “CODE pointer”, sorted. */
export async function listValidatorErrors(bytes: Uint8Array): Promise<string[]> {
  const report = (await validateBytes(bytes, { maxIssues: 0, writeTimestamp: false })) as {
    issues: { messages: { severity: number; code: string; pointer: string }[]; truncated: boolean };
  };
  if (report.issues.truncated) throw new Error('the report was cut');
  return report.issues.messages
    .filter(({ severity }) => severity === 0)
    .map(({ code, pointer }) => `${code} ${pointer}`)
    .sort();
}
