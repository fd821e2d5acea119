/**
 * Texts that break out of the places they are put into: markup (OWASP Cross Site Scripting Prevention Cheat Sheet), cells that a
 * spreadsheet computes (OWASP, CSV Injection), header lines (CWE-93), paths (CWE-22), XML (CWE-91), templates, and
 * characters that turn the direction of a text (Unicode TR36). Each has at most 120 characters, the longest name.
 */
export const HOSTILE_TEXTS = [
  `<img src=x onerror="window.struck='img'">`,
  `"><script>window.struck='script'</script>`,
  `' onmouseover='window.struck=1' autofocus onfocus='window.struck=1`,
  `</title></textarea></style><svg onload="window.struck='svg'">`,
  'javascript:window.struck=1//',
  // biome-ignore lint/suspicious/noTemplateCurlyInString: a template is what it is
  '${window.struck=1}{{constructor.constructor("window.struck=1")()}}',
  `=HYPERLINK("http://struck.invalid","Struck")`,
  '+1+1',
  '-2+3',
  '@SUM(1,2)',
  '../../../../struck/passwd',
  String.raw`..\..\struck\win.ini`,
  '/struck/absolute',
  String.raw`C:\struck\drive`,
  'NUL.png',
  ']]></rdf:li></rdf:Alt><struck xmlns="urn:struck"/><!--',
  '&lt;struck&gt; &amp;amp; %3Cstruck%3E %0d%0aStruck: 1',
  '\u202egnp.kcurts\u202c \u2066struck\u2069 \u200bstruck\ufeff',
  ') /OpenAction << /S /JavaScript /JS (app.alert(1)) >> (',
  '🪑 struck é̂ Ω≈ç √∫˜',
] as const;

/** Texts that no name may have: line breaks and other control characters. */
export const CONTROL_TEXTS = [
  'Struck\r\nSet-Cookie: struck=1',
  'Struck\nX-Struck: 1',
  'Struck\0.png',
  'Struck\u0085line',
  '\u001b[31mstruck',
] as const;
