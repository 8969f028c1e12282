"""Short and pet forms of given names, English and Spanish, and given names that children commonly bear. Data only.

From memory: common public usage, no single source. A line holds one full name, its other spellings, and its short
forms; a short form may stand on several lines (Alex is Alexander, Alexandra, Alejandro, ...). All folded: lower
case, no accents. Extending a line is safe: a short form never joins two children by itself, it only keeps
"Bill" and "William" from counting as two different names.
"""

from __future__ import annotations

from functools import cache

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

BORNE = """
aaliyah aaron adam addison aidan aiden aitana alan alana alanna alba aldo aleah alena alessandra alessandro
alex alexa alexia alexis alicia alina aline alisa alisha alissa alivia aliyah allan allen allyson alma
alyson alyssa amalia amara amari amaya amber amelie amina amir amira amy anabel anabella anahi anahy analia
anderson andre andrea andreas andy angelina anika aniya aniyah annabel annabella annabelle anne annika
antonella antonio april ara arabella araceli areli ari aria ariadna ariana arianna ariel arielle armani
arnold aryan asa asher ashley ashlyn ashton aspen athena aubrey audrey aurora austin autumn ava avah avery
aviana axel ayana ayanna ayden ayla azalea azul bailey barbara beau beckett belen belinda bella benicio
bianca blair blake blanca boston brad braden bradley braeden brandon braulio brayan brayden breanna brenda
brendan brenna brennan brent brett bria brian briana brianna brice bridget brielle brisa brody brooke bruno
bryan bryce brynlee brynn byron cade caden caiden caitlyn callie camden cameron camila camren camryn carina
carla carlo carlos carly carmen carolyn carson carter casey cassandra cassidy cayden celeste cesar chase
chelsea cheyenne chloe claire clara clarissa clayton cody colby cole colin collin colton conner connor
cooper corbin corey courtney cristal cruz crystal curtis daisy dakota dalia dalton damian dana danna dante
daphne darian dario darren darwin dashiell davion deanna deborah delia dennis derek desiree destiny devin
devon diana diane dominick dominique donovan douglas drake dulce duncan dustin dylan easton eden edgar
edison edith eileen elaine eli elian eliana elianna elias elijah elisa eliseo eliza ella ellen ellie elliot
elliott ellis elmer eloise elsa ember emely emerson emery emil emilio emir emmanuel emmett enzo eric erica
erick erik erika erin esmeralda estella estelle esther ethan eva evan eve evelyn everett ezekiel ezra fabian
fabiola faith fatima felicia felix finley finn fiona flor frida gael gage gavin genesis george gia gianna
gideon giovanna giovanny giselle glenn grace gracie graham grant grayson greta griffin gwen gwendolyn hadley
hailey haley hanna hannah harley harper hayden haylee hazel heather helena holden holly houston hudson
hunter ian ibrahim ignacio iker ilana imani imogen ingrid irene iris isai isla israel itzel ivan ivy
izabella jace jack jackson jacqueline jada jade jaden jadyn jaelyn jaelynn jaida jaiden jakob jalen jamal
jamie jamison janelle janessa janice janiya jared jarred jarrod jase jason jaxon jaxson jay jayce jaycee
jayda jayden jayla jaylah jaylen jaylin jaylon jazlyn jazmin jazmine jenna jenny jeremiah jerome jesse jill
jimena joan joanna joanne joaquin jocelyn joel johan johana johanna jonas jordan jorden jordyn joselin
joselyn josephine josiah journey judah julianna juliet juliette julio julissa june justice justin kade kaden
kaelyn kaelynn kai kaiden kailey kailyn kaitlin kaitlyn kaleb kamila kara karen karina karissa karla karlee
karolina kasey kate katelyn kathleen katie katlyn kayden kayla kaylee kaylen kaylin kaylyn keegan keira
keith kelly kelsey kelvin kendra kenia kenya kevin kianna kiara kiera kimora kinsley kira kobe krystal kyla
kylan kyle kylee kyler kylie kyra lacey lana lance landon lara laurel lauren layla layne lea leah leanna
leila leilani leland lena leo leon lesly leticia levi lexi lia liam liana lila lilah lilia lilian lillie
lily linda linden lindsey lisa liza logan lola lorena lorenzo louis louise luca lucas luciana luciano lucy
luis luisa luke luna lydia lyla lyric mackenna mackenzie macy makayla makenna makenzie malachi malia malik
maliyah mara marcela marcelo marcia marco marcus maria mariah mariam marianna mariela marina mario marisa
marisol marissa maritza marlene marley marlon marta martha marvin mary mason mateo mathias matias matilda
mattie maverick max maxwell maya megan melanie melissa melody meredith mia micah mikaela mikayla mila milan
milena miles miley milo milton mira mireya miriam mitchell mohammed moira moises molly monique montana
morgan mya myla mylah myra nadia nadine naomi nash natalia nathalie nathaly nayeli neil nelson nevaeh nia
nico nicolas nicole nikolas nina noah noe noel noemi nola nora norah norma nyla nylah odalys olive oliver
omar omari orion oscar osvaldo oswaldo owen paige paola paris parker patience patrick paul paulina pearl
perla perry peter petra peyton phoebe phoenix piper porter presley preston princess priscilla quentin quinn
rafael rafaela ramiro rania raquel raul rayan raymond reagan rebeca reese regina reid remy renata rene renee
rhys ricardo ricky riley rita river robert roberta robin rocco rocio rodney roger roland roman romeo romina
ronald ronan rory rosa rosalia rosario rose roselyn rosemary rosie rosita ross rowan roy ruben rubi ruby
ruth ryan ryder rylan rylee sabrina sadie sage salma salvador sam samara samir sandra saniya santos sara
sarah sarai sasha saul savannah sawyer scarlett sean selah selena selma serena sergio seth shane shania
shannon sharon shaun shawn shawna sheila shelby sidney sienna sierra silas simon sky skye skyla skylar
sloane sofia sofie solomon sonia sophie spencer stacy stanley stefan stella steven summer susana sydney
tabitha talia tamara tamia tania tanya tara taryn tate tatiana tatum taylor tea teagan terrence tess tessa
thalia theo tia tiana tiffany timothy titus tobias toby tomas tori travis trent trenton trevor trey trinity
tristan tristen troy tucker tyler ulises uriah uriel valentin valentina valerie vanessa vera veronica
vicente vincent violet vivian viviana vivienne walker walter warren wendy wesley weston willow wilson
winston wren wyatt xavier xiomara yadira yahir yair yamilet yareli yaretzi yaritza yasmin yosef yusuf zaid
zaiden zaira zane zara zaria zariah zavier zayden zayn zayne zeke zelda zion zoe zoey zulema
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
def _borne() -> frozenset[str]:
    return frozenset(_full_names()) | frozenset(BORNE.split())


def full_names(form: str) -> frozenset[str]:
    """The full names that this form may stand for; empty where the tables know none."""
    return _full_names().get(form, frozenset())


def one_name(a: str, b: str) -> bool:
    """Whether both are forms of one full name, as Bill and William are, and as Lupe and Lupita are."""
    lines = _full_names()
    return a in lines and b in lines and not lines[a].isdisjoint(lines[b])


def borne(name: str) -> bool:
    """Whether children commonly bear this name, so that it is no slip of the pen for another."""
    return name in _borne()


@cache
def _sequences() -> frozenset[str]:
    return frozenset(each for name in _borne() for each in _letters_together(name))


def _letters_together(word: str) -> list[str]:
    """Every two letters side by side and every run of consonants; "." is the word's beginning and end."""
    framed = f".{word}."
    runs = "".join(" " if letter in "aeiouy" else letter for letter in framed).split()
    return [framed[at : at + 2] for at in range(len(framed) - 1)] + runs


def unlike_a_name(word: str) -> bool:
    """Whether letters stand together that stand so in no known name: "bfody", "lachln"."""
    return word.isascii() and not _sequences().issuperset(_letters_together(word))


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
