const SIGNS: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Text that is nothing but text, in content and in attributes alike. */
export function escapeHtml(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => SIGNS[sign]!);
}
