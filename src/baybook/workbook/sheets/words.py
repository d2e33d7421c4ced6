"""Formulas that make words: days, hundredths, and texts of several rows strung together by area."""

from __future__ import annotations

from baybook.workbook.declare import Column
from baybook.workbook.sheets.columns import work

__all__ = ["day_text", "gathered", "hundredths_text", "without_feet"]


def day_text(day: str) -> str:
    """Return a formula, without its equals sign, that writes a day as 2026-06-15 whatever the program's language."""
    return f'YEAR({day})&"-"&MID(100+MONTH({day}),2,2)&"-"&MID(100+DAY({day}),2,2)'


def hundredths_text(hundredths: str) -> str:
    """Return a formula that writes a whole number of hundredths with two decimals."""
    return f'INT(ROUND({hundredths}/100,6))&"."&MID(100+MOD({hundredths},100),2,2)'


def without_feet(said: str) -> str:
    """Return a formula that leaves the feet out of a length as said if there are none: 7" for 0' 7"."""
    return f'=IF(MID({said},1,2)="0\'",SUBSTITUTE({said},"0\' ",""),{said})'


def gathered(prefix: str, use: str, area: str, say: str) -> tuple[Column, ...]:
    """Return columns that string the texts of rows together, area by area.

    Parameters
    ----------
    prefix : str
        Of the keys: PREFIX_area and PREFIX_text hold, row by row, an area and what was said of it so far.
    use, area : str
        Templates of 0 or 1, and of the row of an area, in the row of the same number.
    say : str
        Key of the column of texts.

    Returns
    -------
    tuple of Column
        The rows sorted by area; one that is not used stands last, in no area.
    """
    return (
        work(f"{prefix}_no", "no", "no", f"=[{prefix}_no-]+1"),
        work(f"{prefix}_key", "sort key", "", f"=IF({use}=1,{area},spare_lane)*1000*1000+[{prefix}_no]"),
        work(f"{prefix}_sorted", "sorted key", "", f"=SMALL({prefix}_key,[{prefix}_no])"),
        work(f"{prefix}_row", "row", "row", f"=MOD([{prefix}_sorted],1000*1000)"),
        work(f"{prefix}_area", "area", "row", f"=ROUND(([{prefix}_sorted]-[{prefix}_row])/(1000*1000),0)"),
        work(
            f"{prefix}_same",
            "same area as above",
            "0/1",
            f"=IF([{prefix}_area]=[{prefix}_area-],1,0)*IF([{prefix}_area]<spare_lane,1,0)",
        ),
        Column(
            key=f"{prefix}_text",
            header="said so far",
            opening="",
            formula=f'=IF([{prefix}_same]=1,[{prefix}_text-]&"; ","")&INDEX({say},[{prefix}_row])',
        ),
    )
