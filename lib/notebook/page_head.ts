import { createHash } from "node:crypto";
import { PAGE_ICON } from "./page_assets.ts";
import { escapeHtml } from "./page_text.ts";

/**
 * The head of a page that needs nothing else: no network, and no script but the one it holds.
 *
 * @param options.script the text of that script, which the page's policy lets run by its hash
 * @param options.invented adds to the title that the data are
 */
export function pageHead(
  { title, subtitle, invented, style, script }: {
    readonly title: string;
    readonly subtitle?: string;
    readonly invented: boolean;
    readonly style: string;
    readonly script: string;
  },
): string {
  const hash = createHash("sha256").update(script).digest("base64");
  const policy = `default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; ` +
    `script-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'`;
  const description = subtitle
    ? `<meta name="description" content="${escapeHtml(subtitle)}">\n`
    : "";
  return `<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<meta name="color-scheme" content="light dark">
<title>${escapeHtml(invented ? `${title} (invented data)` : title)}</title>
${description}<link rel="icon" href="${PAGE_ICON}">
<style>${style}</style>
</head>`;
}
