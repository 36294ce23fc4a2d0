"""What the columns of part lists and placement files are called.

A heading is compared without case, accents, spaces and punctuation. The names are common
practice of many exporters and languages, no source; the first name of a role is preferred
where several columns carry one.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

__all__ = ["BOM_ROLES", "PLACEMENT_ROLES", "VALUE_LIKE", "Heading", "heading", "key"]

BOM_ROLES = (
    "reference",
    "value",
    "footprint",
    "quantity",
    "part_number",
    "manufacturer",
    "description",
    "fitted",
    "note",
)
"""Roles that a column of a BOM can have."""

PLACEMENT_ROLES = ("reference", "x", "y", "rotation", "side", "footprint", "value")
"""Roles that a column of a placement file can have."""

_NAMES = {
    "reference": """references reference referencedesignator referencedesignators designator
        designators refdes refdess refdesignator refdesignators ref refs partreference
        partreferences componentreference componentreferences componentdesignator
        schematicreference boardreference circuitreference pcbreference referencias referencia
        customerreference repere reperes repère désignateur designateur designador designadores
        bezeichner bauteilbezeichner bauteilreferenz referenz referenzen bauteilreferenzen
        oznaczenie oznaczenia desygnator referencje riferimento riferimenti oznaceni referentie
        referenties referens referenser viittaus позиционноеобозначение позобозначение
        обозначение 位号 元件位号 标号 部品番号記号 リファレンス 참조번호""",
    "weak reference": """part parts component components name id pos position positions
        location locations item symbol bauteil bauteile element elements komponent komponente
        komponenten componente componentes composant composants comp instance""",
    "value": """value val values partvalue componentvalue wert werte bauteilwert valeur valeurs
        valor valores valore valori wartosc wartosci waarde varde hodnota ertek arvo значение
        номинал 值 参数 定数 값 comment designation what nominal""",
    "footprint": """footprint footprints pcbfootprint packagefootprint footprintpackage
        package packages casepackage packagecase packagetype packagesize casesize case
        landpattern pattern decal partdecal footprintname gehause gehauseform bauform boitier
        empreinte encapsulado huella paquete obudowa contenitore behuizing kapsel pouzdro корпус
        посадочноеместо 封装 パッケージ 풋프린트""",
    "quantity": """quantityperpcb quantityperboard qtyperboard qtyperpcb qtyboard quantity
        quantities qty qnty qtty quant count numused used amount pcs pieces
        quantity1 anzahl menge stuck stuckzahl stk quantite qte nombre cantidad cant
        ilosc liczba sztuk szt quantita qta aantal antal mnozstvi pocet db maara количество
        кол колво 数量 用量 個数 수량 totalquantity totalqty orderqty orderquantity""",
    "part_number": """mpn manufacturerpartnumber manufacturerpn manufacturerpart
        manufacturerpartno manufacturernumber manufacturerreference mfrpartnumber mfrpn mfrpart
        mfrpartno mfrno mfgpartnumber mfgpn mfgpart mfgpartno mfgcode mfgno mfpn manfpn
        manpartno manfpart manfpartno manufpartno makerpartnumber herstellerteilenummer
        herstellernummer herstellerartikelnummer herstellerbezeichnung referencefabricant
        reffabricant referenciafabricante referenciadelfabricante codigofabricante
        numerproducenta symbolproducenta numerczesciproducenta codiceproduttore
        codicecostruttore partnumber partno partnum pn partnr teilenummer artikelnummer
        numerodepiece numerodeparte numerodepieza numerczesci 型号 制造商型号 厂家型号 部品番号
        型番 부품번호""",
    "manufacturer": """manufacturer manufacturers manufacturername mfr mfrname mfg mfgname mfgr
        manf manuf maker brand hersteller fabricant fabricante fabricantes producent producer
        produttore costruttore fabrikant tillverkare vyrobce valmistaja производитель 制造商
        厂家 品牌 メーカー 제조사""",
    "description": """description descriptions desc descr partdescription partdesc
        componentdescription beschreibung bezeichnung descripcion descrizione descricao opis
        omschrijving beskrivning popis kuvaus описание наименование 描述 名称 説明 설명 details
        libelle""",
    "fitted": """fitted fit populate populated mount mounted place placed install installed
        stuff stuffed assemble assembled bestuckt bestucken bestuckung monte montar montado
        montowac montaz montare montato""",
    "not fitted": """dnp dnf dni dnm dns dnpdnf donotpopulate donotfit donotplace donotinstall
        donotmount donotstuff notfitted notpopulated notmounted notplaced notinstalled
        unpopulated nopop nofit nostuff nichtbestuckt nichtbestucken nonmonte nomontar
        nomontado niemontowac nonmontare nonmontato""",
    "note": """note notes remark remarks comments config configuration variant bemerkung
        bemerkungen kommentar kommentare anmerkung anmerkungen hinweis remarque remarques
        commentaire commentaires nota notas comentario comentarios observaciones uwagi uwaga
        komentarz osservazioni opmerking poznamka примечание 备注 備考 비고""",
    "x": """midx centerx centrex centroidx posx xpos positionx xposition x xcenter xcentre
        xmid centerxcoord xcoord coordx xcoordinate coordinatex locationx xlocation locx xloc
        xkoordinate xcoordonnee coordenadax coordinatax refx xref padx""",
    "y": """midy centery centrey centroidy posy ypos positiony yposition y ycenter ycentre
        ymid centerycoord ycoord coordy ycoordinate coordinatey locationy ylocation locy yloc
        ykoordinate ycoordonnee coordenaday coordinatay refy yref pady""",
    "rotation": """rotation rot rotate angle rotationdeg rotdeg orientation orient theta rotangle
        rotationangle drehung winkel drehwinkel rotacion angulo obrot kat rotazione angolo
        rotatie hoek 旋转 角度 回転""",
    "side": """side layer boardside mountside mountingside topbottom tb topbot bottomtop seite
        lage bestuckungsseite face cote couche cara lado capa strona warstwa lato faccia zijde
        laag 层 板面 面""",
}

VALUE_LIKE = frozenset({"part", "component", "name", "partname", "componentname", "device", "typ"})
"""Keys of headings that stand for the value where no column is called so."""

_SUPPLIERS = (
    "supplier",
    "distributor",
    "vendor",
    "digikey",
    "mouser",
    "lcsc",
    "farnell",
    "newark",
    "jlcpcb",
    "lieferant",
    "fournisseur",
    "proveedor",
    "dostawca",
    "bestellnummer",
    "ordernumber",
    "ordercode",
    "orderno",
)
_UNIT = re.compile(
    r"[\s(\[{_,/-]+(mm|millimet(?:er|re)s?|cm|inch(?:es)?|in|mils?|thou|um|µm|μm|microns?|m"
    r"|deg(?:rees?)?|°)[)\]}\s.]*$",
    re.IGNORECASE,
)
_BRACKETS = re.compile(r"[(\[{].*?[)\]}]")
_LONGEST = 60
_UNFOLDED = str.maketrans({"ł": "l", "Ł": "l", "ø": "o", "Ø": "o", "đ": "d", "#": "no"})
_PUNCTUATION = {code: None for code in range(128) if not chr(code).isalnum()}


class Heading(NamedTuple):
    """What a heading names: a role, its preference (0 is best), and the unit it carries or ""."""

    role: str
    rank: int
    unit: str


def key(text: str) -> str:
    """Return a heading without case, accents, spaces and punctuation.

    Parameters
    ----------
    text : str
        A heading as exported.

    Returns
    -------
    str
        Letters and digits only; "" where it has none.

    Examples
    --------
    >>> key("Reference(s)"), key("Gehäuse"), key("Mid X")
    ('references', 'gehause', 'midx')
    """
    if text.isascii():
        return text.lower().translate(_PUNCTUATION)
    folded = unicodedata.normalize("NFKD", text.translate(_UNFOLDED).casefold())
    return "".join(c for c in folded if c.isalnum())


_ROLES = {
    key(name): (role, rank)
    for role, names in _NAMES.items()
    for rank, name in enumerate(names.split())
}


def heading(text: str) -> Heading | None:
    """Tell the role of a column by its heading.

    Parameters
    ----------
    text : str
        A heading as exported, with a unit or not.

    Returns
    -------
    Heading or None
        Role "weak reference" for names that as often head a running number or a part name, role
        "not fitted" for a column in which yes means no; None for names of no role, among them
        every number of a supplier.

    Examples
    --------
    >>> heading("Mid X (mm)")
    Heading(role='x', rank=0, unit='mm')
    >>> heading("Supplier Reference") is None
    True
    """
    return _heading(text) if len(text) <= _LONGEST and "**" not in text else None


@lru_cache(maxsize=4096)
def _heading(text: str) -> Heading | None:
    """Tell the role of a heading of bounded length."""
    whole = key(text)
    if not whole or any(supplier in whole for supplier in _SUPPLIERS):
        return None
    if text.rstrip().endswith("#") and f"{whole}no" in _ROLES:
        return Heading(*_ROLES[f"{whole}no"], "")
    if whole in _ROLES:
        return Heading(*_ROLES[whole], "")
    unit = _UNIT.search(text)
    if unit and (named := _ROLES.get(key(text[: unit.start()]))):
        return Heading(*named, unit[1].lower())
    if named := _ROLES.get(key(_BRACKETS.sub("", text))):
        return Heading(*named, "")
    return _by_words(text)


def _by_words(text: str) -> Heading | None:
    """Tell the role of a compound heading such as "Manufacturer P/N or Value"."""
    words = {key(word) for word in re.split(r"[\s_./&-]+", text)}
    if "value" in words:
        return Heading("value", 50, "")
    for role, word in (("reference", "designator"), ("reference", "references")):
        if word in words or f"{word}s" in words:
            return Heading(role, 50, "")
    return None
