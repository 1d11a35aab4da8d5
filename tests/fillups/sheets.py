"""Smallest .xlsx and .ods files, written with the standard library alone."""

import zipfile
from xml.sax.saxutils import escape

_XLSX = {
    "[Content_Types].xml": '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/'
    'content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.'
    'sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-'
    'officedocument.spreadsheetml.worksheet+xml"/></Types>',
    "_rels/.rels": '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
    'relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/'
    'officeDocument" Target="xl/workbook.xml"/></Relationships>',
    "xl/workbook.xml": '<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/'
    'main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets>'
    '<sheet name="fills" sheetId="1" r:id="r1"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/'
    'package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/'
    'relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
}


def _xlsx_cell(cell):
    if isinstance(cell, float):
        return f"<c><v>{cell}</v></c>"
    return f'<c t="inlineStr"><is><t>{escape(cell)}</t></is></c>'


def write_xlsx(path, table):
    rows = "".join(f'<row r="{n}">{"".join(map(_xlsx_cell, row))}</row>' for n, row in enumerate(table, 1))
    sheet = (
        '<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        f"<sheetData>{rows}</sheetData></worksheet>"
    )
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in {**_XLSX, "xl/worksheets/sheet1.xml": sheet}.items():
            archive.writestr(name, text)


def _ods_cell(cell):
    if isinstance(cell, float):
        return f'<table:table-cell office:value-type="float" office:value="{cell}"/>'
    return f'<table:table-cell office:value-type="string"><text:p>{escape(cell)}</text:p></table:table-cell>'


def write_ods(path, table):
    rows = "".join(f"<table:table-row>{''.join(map(_ods_cell, row))}</table:table-row>" for row in table)
    names = " ".join(
        f'xmlns:{each}="urn:oasis:names:tc:opendocument:xmlns:{each}:1.0"' for each in ("office", "table", "text")
    )
    content = (
        f'<?xml version="1.0"?><office:document-content {names}><office:body><office:spreadsheet>'
        f'<table:table table:name="fills">{rows}</table:table></office:spreadsheet></office:body>'
        "</office:document-content>"
    )
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr(
            "META-INF/manifest.xml",
            '<?xml version="1.0"?><manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:'
            'manifest:1.0"><manifest:file-entry manifest:full-path="/" manifest:media-type="application/vnd.oasis.'
            'opendocument.spreadsheet"/></manifest:manifest>',
        )
