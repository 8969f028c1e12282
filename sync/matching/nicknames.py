"""Short and pet forms of given names, English and Spanish, and what may be told from given names alone.

From memory: common public usage, no single source. A line holds one full name, its other spellings, and its short
forms; a short form may stand on several lines (Alex is Alexander, Alexandra, Alejandro, ...). All folded: lower
case, no accents. Extending a line is safe: a short form never joins two children by itself, it only keeps
"Bill" and "William" from counting as two different names.
"""

from __future__ import annotations

from functools import cache

from sync.matching.given_names import ALSO_BORNE, BORNE

FORMS = """
abigail abby abbie gail
abraham abe bram
adelaide addie adela heidi
adrian ade
adriana adri
agustin agus tincho tin
albert al bert bertie
alberto beto berto tito
alejandra ale alex sandra jandra aleja
alejandro ale alex jandro jano
alexander alex al xander zander sandy sasha lex
alexandra alex alexa alexis sandra sandy sasha lexi lexie
alfonso poncho fonso
alfred al alf alfie fred
alfredo fredo fito
alice ali allie
alicia ali licha
alison ali allie
amanda mandy manda
amelia amy millie mia
ana anita anna ani
anastasia ana stacy tasia
andrea andi andie dea
andres andy
andrew andy drew
angel angelito
angela angie angelita
angelica angie angy
anna annie ann anne ana
anthony tony ant
antonia toni tonia tona
antonio tono tony toni
armando mando
arthur art artie
arturo turo
barbara barb barbie babs
beatriz bea betty bety triz
belinda bel linda
benjamin ben benny benji benja
bernardo berna nardo
bradley brad
brenda bren
caleb cale
camila cami mila
carlos carlitos charly cali
carmen carmela carmelita menchu
carolina caro lina
caroline carol carrie caro
catalina cata lina
catherine cathy kate katie kathy cat cate katherine kathryn katharine kit kitty kay
cecilia ceci
charles charlie chuck chaz charley
charlotte charlie lottie lotte char
christian chris cris cristian
christina chris chrissy tina christine cristina kristina
christopher chris kit topher kristopher
claudia clau
concepcion concha conchita
consuelo chelo
cristian cris chris
cristina cris tina
cynthia cindy cyndi cintia
daniel dan danny dani
daniela dani
danielle dani
david dave davey davy
deborah deb debbie debra
diego dieguito
dolores lola loli
dominic dom nick
dominique dom nikki
dorothy dot dottie dolly
eduardo edu lalo eddie
edward ed eddie ned ted teddy
eleanor ellie nell nora ella
elena lena nena helena
elizabeth liz lizzie beth betsy betty eliza libby lisa elsie ellie bess elisabeth
emilia emi mili
emiliano emi
emily em emmy millie
emma em emmy
enrique quique kike
ernesto neto
esperanza pera espe
estefania estefi fani stefi
esteban teban
ezekiel zeke
ezequiel eze cheque
federico fede fico
felipe pipe feli
fernanda fer nanda
fernando fer nando
frances fran fannie francie
francis frank fran
francisca paca pancha paquita fran
francisco paco pancho fran cisco kiko frank
franklin frank
frederick fred freddie rick
gabriel gabe gabi gabo
gabriela gabi gaby
gabrielle gabby gabi elle
genesis gene
gerardo gera lalo
gerald gerry jerry
gilberto beto gil
giovanni gio vanni
gloria glo
gonzalo gonza chalo
graciela chela
gregory greg gregg
guadalupe lupe lupita guada
guillermo memo guille willy
gustavo gus tavo
harold harry hal
harrison harry
hector tito
helen nell nellie
henry harry hank hal
hugo huguito
humberto beto
ignacio nacho igna
irene renie
isaac ike zac
isabel isa chabela chavela bel isabela
isabella isa bella izzy belle
isaiah ike zay
ismael isma
jacob jake jack
jacqueline jackie jacqui jaqueline
jaime jimmy
james jim jimmy jamie jem
jane janie jenny
janet jan
jasmine jas jazz yasmin
javier javi
jeffrey jeff geoff
jennifer jen jenny jenn
jeremiah jerry jem
jeremy jerry jem
jesse jess
jessica jess jessie
jesus chuy chucho suso
joaquin joaco quin
john jack johnny jon jonny
jonathan jon jonny jonathon johnathan
jorge coque jorgito
jose pepe joe chepe
josefina fina pepa josefa chepina
joseph joe joey jo
josephine jo josie posy
joshua josh
josue josh
juan juanito juancho
juana juanita
judith judy jude
julia jules julie
julian jules
juliana juli
julio julito
karen kari
katherine kate katie kathy kat kathryn kit kay katy
kenneth ken kenny
kimberly kim kimmy kimberley
laura lauri lala
lawrence larry laurie lars
leonard leo len lenny
leonardo leo nardo
leonel leo
leticia lety leti
lillian lil lily lilly
lorena lore
lorenzo lencho enzo
lourdes lulu lourditas
lucas luke luc
lucia lucy lu luci
lucille lucy
luis lucho luisito
luisa lu luisita
luz lucita
madeline maddie maddy madeleine madelyn
madison maddie maddy
magdalena magda lena malena
manuel manny manolo manu lolo
manuela manoli lela
marcela marce chela
marcos marc marquitos
margaret maggie meg peggy margie marge greta daisy rita
margarita marga rita mago
maria mari marita mary
mariana mari nana
maricela mari chela
marisol mari sol
martha marty mattie
martin marty tincho
mary molly polly mamie may
mateo teo matt
matthew matt matty
maureen mo
mauricio mau
maximiliano max maxi
maximilian max
maxwell max
mercedes meche merche
micaela mica
michael mike mikey mick mickey micky
michelle mich shelly shell
miguel migue miguelito mike
miranda randi mandy
mohammed mo mohamed muhammad mohammad
monica moni
montserrat montse
nancy nan
natalia nati nata natasha
natalie nat
nathan nate nat
nathaniel nate nat nathan
nicholas nick nicky nico nicolas
nicolas nico nick
nicole nicky nikki
octavio tavo
oliver ollie
olivia liv livvy ollie
orlando lando
oscar osqui
pablo pablito
pamela pam
patricia pat patty tricia trish pati
patrick pat paddy rick
patricio pato
paula pau
pedro perico pedrito
penelope penny
peter pete
philip phil pip phillip
pilar pili
rachel rach rae
rafael rafa raffy
ramon moncho monchi
raul raulito
raymond ray
rebecca becky becca bec
reginald reg reggie
ricardo rica richi ricky richard
richard rick dick rich ricky richie
robert rob bob bobby robbie bert
roberto beto tito rober
rocio chio ro
rodrigo rodri rigo
rogelio roger
rolando rolo
ronald ron ronnie
rosa rosita rosie
rosario charo chayo
ruben rube
salvador chava salva
samantha sam sammy
samuel sam sammy samu
sandra sandy
santiago santi chago yago diego
sara sarita
sarah sally sadie
sebastian seb sebas bastian
sergio checo
silvia sil
sofia sofi
sophia sophie soph
stephanie steph stephie stefanie
stephen steve stevie steph steven
susan sue susie suzy
susana susi susy
sylvia syl
teresa tere teresita
theodore theo ted teddy
theresa terry tess tessa teresa
thomas tom tommy
timothy tim timmy
tobias toby
tomas tomi tommy
trinidad trini
valentina vale tina
valeria vale
vanessa nessa vane
veronica vero ronnie roni
vicente chente vicen
victor vic
victoria vicky vic tori
vincent vince vinny vin
virginia ginny vicky
walter walt wally
wendy wen
william will bill billy willie liam
wilfred will fred
ximena xime mena
yesenia yeni
yolanda yoli
zachary zach zack zac zak zachariah
"""

ENDINGS = (("a", ""), ("a", "o"), ("a", "e"), ("e", ""), ("o", ""), ("ia", "io"))


@cache
def _full_names() -> dict[str, frozenset[str]]:
    """Every form -> the lines it stands on, each named by its first word."""
    lines: dict[str, set[str]] = {}
    for line in FORMS.split("\n"):
        forms = line.split()
        for form in forms:
            lines.setdefault(form, set()).add(forms[0])
    return {form: frozenset(names) for form, names in lines.items()}


@cache
def borne_names() -> frozenset[str]:
    """Every given name that is known here."""
    return frozenset(_full_names()) | frozenset(BORNE.split()) | frozenset(ALSO_BORNE.split())


def one_name(a: str, b: str) -> bool:
    """Whether both are forms of one full name, as Bill and William are, and as Lupe and Lupita are."""
    lines = _full_names()
    return a in lines and b in lines and not lines[a].isdisjoint(lines[b])


def borne(name: str) -> bool:
    """Whether children commonly bear this name, so that it is no slip of the pen for another."""
    return name in borne_names()


@cache
def _official() -> frozenset[str]:
    return frozenset(BORNE.split()) | {line.split()[0] for line in FORMS.strip().split("\n")}


def official(name: str) -> bool:
    """Whether children are registered under this name, as Jack and John both are and Chuy is not."""
    return name in _official()


def two_genders(a: str, b: str) -> bool:
    """Whether the two differ only as Mario and Maria do, or Daniel and Daniela: brother and sister."""
    for first, second in ((a, b), (b, a)):
        for ending, other in ENDINGS:
            stem = first.removesuffix(ending)
            if stem != first and len(stem) > 2 and stem + other == second:
                return True
    return False
