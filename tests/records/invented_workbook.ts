import { strToU8, zipSync } from "fflate";

/** A cell of an invented sheet: text, a number, or nothing. */
export type InventedCell = string | number | null;

/** An .xlsx file of these sheets, written by hand so that no reader's own writer is trusted. */
export function inventedWorkbook(
  sheets: Readonly<Record<string, readonly (readonly InventedCell[])[]>>,
  { saved = "2026-05-02" }: { readonly saved?: string } = {},
): Uint8Array {
  const relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
  const parts = "http://schemas.openxmlformats.org/package/2006/relationships";
  const main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
  const file = (body: string) => strToU8(`<?xml version="1.0"?>${body}`);
  const names = Object.keys(sheets);
  const letter = (c: number) => String.fromCharCode(65 + c);
  const inert = (text: string) => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
  const cell = (value: InventedCell, at: string) =>
    value === null
      ? ""
      : typeof value === "number"
      ? `<c r="${at}"><v>${value}</v></c>`
      : `<c r="${at}" t="inlineStr"><is><t>${inert(value)}</t></is></c>`;
  const rowsOf = (rows: readonly (readonly InventedCell[])[]) =>
    rows.map((row, r) =>
      `<row r="${r + 1}">${row.map((one, c) => cell(one, `${letter(c)}${r + 1}`)).join("")}</row>`
    ).join("");
  return zipSync({
    "xl/workbook.xml": file(
      `<workbook xmlns="${main}" xmlns:r="${relations}"><sheets>${
        names.map((name, i) => `<sheet name="${name}" sheetId="${i + 1}" r:id="rId${i + 1}"/>`)
          .join("")
      }</sheets></workbook>`,
    ),
    "xl/_rels/workbook.xml.rels": file(
      `<Relationships xmlns="${parts}">${
        names.map((_, i) =>
          `<Relationship Id="rId${i + 1}" Type="${relations}/worksheet" Target="worksheets/sheet${
            i + 1
          }.xml"/>`
        ).join("")
      }</Relationships>`,
    ),
    "docProps/core.xml": file(
      `<cp:coreProperties xmlns:cp="urn:x" xmlns:dcterms="http://purl.org/dc/terms/">` +
        `<dcterms:modified>${saved}T10:00:00Z</dcterms:modified></cp:coreProperties>`,
    ),
    ...Object.fromEntries(names.map((name, i) => [
      `xl/worksheets/sheet${i + 1}.xml`,
      file(
        `<worksheet xmlns="${main}"><sheetData>${rowsOf(sheets[name])}</sheetData></worksheet>`,
      ),
    ])),
  });
}

/** Three sheets by court with forty shoes' published figures each, as a newcomer keeps them. */
export function inventedCatalogue(): Uint8Array {
  const makers = ["Tarnwick", "Ormley", "Ostrellan", "Fennorick", "Quillmoor"];
  let [n, state] = [0, 4];
  const random = () => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648;
  const near = (middle: number, spread: number, digits = 1) =>
    Number((middle + spread * (random() + random() + random() - 1.5)).toFixed(digits));
  const sheet = (court: string) => [
    [`${court} shoes, our figures`],
    [],
    ["Brand", "Shoe", "Edition", "Size", "Price", "Heel rebound", "Lamp heat", "Slip angle (deg)"]
      .concat(["Mass", "Width", "Sole wear", "Overall", "Removable insole", "Year"]),
    ...Array.from({ length: 40 }, (): InventedCell[] => {
      n++;
      return [
        makers[n % 5],
        `Model ${String.fromCharCode(65 + n % 20)}${Math.floor(n / 20)}`,
        1 + n % 3,
        `EU ${42 + n % 3}`,
        `£${80 + n}`,
        n % 3 === 0 ? near(30, 4) : `${near(30, 4)} cm`,
        n % 5 === 0 ? "-" : `${near(150, 12)}F`,
        near(30, 6),
        near(350, 50, 0),
        near(100, 4),
        n % 9 === 0 ? "<1 mm" : `${near(2, 1)} mm`,
        near(75, 20, 0),
        n % 2 === 0 ? "no" : "yes",
        2020 + n % 5,
      ];
    }),
  ];
  return inventedWorkbook({ Hard: sheet("Hard"), Clay: sheet("Clay"), Grass: sheet("Grass") });
}
