/** The bytes of a data URI (RFC 2397), base64 or percent-encoded; null when it is none. */
export function readDataUri(uri: string): Buffer | null {
  const comma = uri.indexOf(',');
  if (!uri.startsWith('data:') || comma < 0) return null;
  const body = uri.slice(comma + 1);
  if (/;base64$/i.test(uri.slice(0, comma))) return Buffer.from(body, 'base64');
  return Buffer.from(
    body.replace(/%([0-9a-f]{2})/gi, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16))),
    'latin1',
  );
}
