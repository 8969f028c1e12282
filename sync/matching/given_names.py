"""Given names that children commonly bear, in English- and Spanish-speaking schools. Data only.

From memory: common public usage, no single source. All folded: lower case, no accents. They tell a name from a slip
of the pen, so that twins with names alike stay two; a name that is missing here only makes the matching ask. The
full names of ``nicknames`` belong to them and are not repeated.
"""

# Names under which children are registered.
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

# Further names, and pet names that some children bear as their own.
ALSO_BORNE = """
abel abelardo abilio abner abril adan adelardo adelia adelina adolfo adolph agatha agnes agustina aida aiko
aileen aimee ainhoa aisha akira alain alaina alanis alayna albina alda alec alejo alessia alexandria alexi
alfonsa alia alicja allison alondra alonso alonzo alvaro alvin alyna alysha alysia amada amadeo amado amalie
amando amaro ambar ambrose amelina america ammar amparo anais andra angeles angelia angelique angelo angus
anjali annabeth annette annmarie ansel anselma anselmo antone antonieta antonino anwar apolonia aquiles
arabela arata arcadio archie arely ariadne arianne ariella armand arminda arnav arnulfo aron arsenio arun
arwen asad asha ashleigh asia asiya astrid atilio atticus aubree august augusta augustine augustus aurelia
aurelio avani avelina aylin aziza azucena baltasar barack bartholomew bartolome basil basilio bautista
beatrice beatrix benedict benigno benita benito bennet berenice bernadette bernard bernice bertha bertram
bethany bettina beverly bibiana bilal billie bina birgit bjorn blaine blas blaze bonnie bradford brady
branden brandi brandie brandy brantley brayton breanne bree breena bret brigid brigida brigitte brinley
briony britney brittany brittney brodie bronson bronte bronwyn bryanna bryant bryson buster byanca caitlin
caleigh calista calisto calixta calixto callum calvin camelia cameryn camilla candace candela candelaria
candelario candice candida candido cara caren carey caridad carin carissa carl carlee carleigh carley
carlota carlton carlyn carmelo carmina carmine carola carole carolee cary casandra casilda casimiro caspian
cassie castiel cataleya catalino catarina cathleen cathryn cecil cecile cecily cedric celena celestino celia
celine cenobio chad chana chance chandler chanel chantal charity charleigh charlene chastity chaya chelsey
cherie cherry cheryl chester chiara christa christi christie christy ciara cielo cierra cipriano clare
clarence clarice clarisa clark claude claudette claudina claudine claudio clay clemencia clemente cleo
clifford clint clinton clive cloe clyde coleen coleman colette colleen connie conor conrad conrado constance
constantino consuela cora coral coralie corbyn cordelia corina corinne cornelia cornelius cory cosme craig
crisanto cristobal cullen custodia cyrus dahlia dale dalila dallas damaris damaso damien damion damon dane
danette dania danica daniella danilo daria dariana darius darla darlene darnell darrell darryl daryl davian
davina davis dawn dawson dayana dayanara dayna dayton deacon dean deandre deanne debora declan dee delaney
delfina delilah delio della delphine demetrio demetrius demi dena denis denise denisse denver deon derrick
desi desmond devan devyn dexter diamond dian diandra dianna dianne didier dina dino dion dionisio dionne
dixie dominga domingo dominik dominika domitila don donald donato donna donnie dora doreen dorian doris
dorothea doyle duane dwayne dwight earl earnest ebony edelmira edgard edgardo edie edmund edna edson eduarda
edwin efrain efren einar eladio elaina elba elda eldon elea eleanora eleazar elenor eleonora elia eliane
elida elie elinor elio eliot elisabet elise elisea elisha elissa eliz elke ellery elodie eloina elois eloisa
eloy elpidio elton elva elvia elvin elvira elvis elyse ema emanuel emerald emeteria emeterio emile emiliana
emilie emmalyn emmanuela emmet encarnacion enid ephraim epifanio erasmo erich ericka erma ermelinda ernest
ernestina ernestine ernie errol ervin esme esmee estanislao estefano estefany ester eternity ethel etta
eufemia eugene eugenia eugenio eulalia eunice eusebio eustaquio evander evangeline evaristo evelin evelina
evelyne evie ewan ezequias ezequiela fabiana fabiano fabio fabricia fabricio faisal fanny farah farid faris
fatimah faustina faustino fausto fay faye feliciana feliciano felicitas felicity felipa felisa ferdinand
fermin fidel fidela fidelia filemon filiberto filip filippa flavia flavio fletcher flora florence florencia
florencio florentina florentino florina florinda forrest fortunato foster franca francesca franchesca
francine franco frankie franz freda frederic frederica fredrick fredy freya fritz froilan fulgencio gabino
gabriella gadiel gaia galilea gannon garrett garrison gary gaspar gemma gena genaro genevieve genoveva
geoffrey georgette georgia georgiana georgina geraldine geraldo gerard geri germaine german gertrude
gervasio gianni gilberta gilda gillian gina ginger gino gisela gisele gisselle gladys glen glenda glenna
gloriana godfrey gordon grady gregoria gregorio gretchen grover guido guinevere gunnar gustav gwyneth
hadassah haider hailee haily hakim halie halle hallie hamza hana hannia hans harlan harlow harmony harriet
harvey hasan hassan hattie haven hayley haylie heath heaven helga henrietta herbert herberto heriberto
herman herminia herminio hermione hernan higinio hilaria hilario hilary hilda hipolito hiram hollis homero
honor hope horacia horacio hortencia hortensia howard huda humza hussein hyacinth ida idalia idris ifeoma
ignacia ildefonso ileana iliana iman imelda ina indiana indigo ines inez inigo inmaculada inocencia
inocencio iolanda ira irina irma irvin irving isabeau isabelle isadora isaias isamar isaura isidora isidoro
isidra isidro ismail isobel issac itzayana ivana ivanna ivette ivonne izan jacinda jacinta jacinto jackeline
jacklyn jacky jaclyn jadon jaelle jafet jair jairo jalyn jamel jami jamila jana janette jania janine janna
jannet jarod jaron jarret jasmyn jasper javon jaxton jaya jayceon jaydan jaydin jaylee jaylene jayme jaymes
jayne jayson jazlene jazzlyn jean jeanette jeanie jeanine jeanne jed jefferson jeffery jena jenelle jenifer
jeniffer jennie jensen jerald jeremias jeri jericho jermaine jeronimo jerrod jessa jessika jesusa jett jewel
jillian jimmie joana joann joao joaquina job jocelyne jodi jodie jody joelle johann johannes johnnie
johnpaul jolene jolie jonah jonatan joni jordana jordi jordon jorja josef joselyne josephina josette josiane
joslyn jovan jovani jovanna jovanny jovita joy joyce judas judd judson julianne julien julieta julisa julius
jumana junior juniper justina justine justus kacey kaci kadence kaia kaitlynn kala kale kalea kaleigh kali
kallie kalvin kamari kamden kamilah kamille kamryn kane kareem karim karin karis karl karlie karly karma
karol karolyn karson karsyn karter kason kassandra kassidy katarina katerina kathi kathie kathlyn katia
katrina kavya kaya kaycee kaydence kaylah kayley kaylie kaylynn kayson keagan keaton keely keenan kellan
kelley kelli kellie kelsie kelton kendal kendall kendrick kenna kennedi kennedy kennith kent kenton kenzie
keren keri kerri kerry kevyn keyla khadija khalid khalil khloe kian kiana kieran kiersten kiley kimber king
kingsley kingston kinley kip kirk kirsten kloe knox kody kohen kolby kole kolton konnor kora korbin kori
kory kourtney krista kristen kristian kristie kristin kristine kristofer kristy kurt kurtis kylah kyleigh
kymani kyrie kyson lacy ladonna laila lainey laith lamar lamont landry lane lanny larissa laszlo latasha
latisha latoya laureana laureano laurence lauryn lavinia layan laylah lazaro leandra leandro leann leanne
leda lee leia leif leigh leighton leilah leman lennon lennox lenora leocadia leocadio leona leonarda leoncio
leonidas leonie leonora leopold leopolda leopoldo leora leroy les leslie lester leta liane liborio lidia
liesel ligia liliana lilianna lilith lilliana lincoln lindsay linnea lionel lisandra lisandro liseth lisette
lissette livia liya lizbeth lizeth lizette lloyd lois lorelei loren lorenza loretta lori lorna lorraine lou
louella lowell luana luann lucero lucha lucian lucien lucila lucinda lucio lucrecia ludovica luella luigi
lula lyanna lyle lyn lynda lynette lynn lynne lynnette mabel mable mac macarena macario macey macie mack
madalyn maddox madelynn madilyn madyson mae maeve magali magdalene magdaleno magnus mahmoud maia maisie
maison maite maja makai makena malakai malaya malcolm malka mallory malvina manuelita marcel marcelina
marceline marcelino marcella marcello marci marcial marciano marcie marcio marcy margarito margaux margery
margo margot margret mariajose marian mariane marianela marianne mariano maribel maricel maricruz marie
mariel marielena mariella marietta marilu marilyn marin marino marion marisel marisela maristel maristela
mariya marjorie mark marla marleen marlena marlin marlo marlyn marsha marshall martina maryam maryann
maryanne marybeth maryjane maryse massimo mathew mathilda mathilde matilde matteo matthias maud maura
maurice mauricia mavis maxim maxime maximiano maximino maximo maxine mayra mayte mckenna mckenzie mckinley
meadow meghan mei mekhi mel melania melany melchor melchora melina melinda melisa mellissa melvin mercy
meryl messiah michaela michal micheal michel michele miguelangel mika mikael mikhail miko milagros milana
milly milos mina mindy minerva minna mirabel miracle mirna misael mischa missy misty mitch modesta modesto
mollie mona monika monroe monserrat montgomery mordecai morgana moriah morris moses muriel murray mustafa
myah mykel myles myrna myron myrtle nada nadja nahla nahuel naila naima najma nala nanette narciso nasir
natali nataly natalya natanael nataniel nathali nathanael natividad naya nazareth neal neftali nehemiah
nelda nelly nelsy nemesio nereida nestor nestora neva neve neymar nicanor nicanora nichola nichole nicolasa
nicolette nicolle nieves nigel nikita nikko niko nikolai nino nixon noa noelia noelle nohemi nolan norberto
noreen norman nour nova novalee nubia nuria nyah nyasia oakley obed oceane octavia octaviano odalis odell
odette odilia odin ofelia olaf olegario oleta olga olimpia olin olinda oliva omarion onesimo ophelia ora
oralia orla orson osiris osman otilia otilio otis otto paisley paloma pandora paolo parisa pascal pascual
pascuala patrice patrocinio patsy patti paulette pauline paulino paulo paxton payton percy perfecto pernilla
petronila phyllis pia pierce pierre placido policarpo ponciano poppy porfiria porfirio portia pranav
primitivo priscila priya prudence prudencia quincy quinton rachael rachelle raegan rafaella raina rajesh
ralph ramona ramsey randall randy raphael rashad rashid raven raymunda raymundo rayna rayyan rebekah reece
reed reeve refugio regino reina reinaldo reine rema remedios remi remigio remington ren rena renea renzo rex
rey reyes reyna reynalda reynaldo rhea rhett rhiannon rhoda rhonda ria ricarda rickey rickie rico riggs
rigoberto rihanna rina rio robby robyn rocky roderick rodolfo rogelia romana romualdo romy ronaldo ronda
ronin rosalba rosalie rosalina rosalind rosalinda rosalva rosalyn rosana rosanna rosanne rosaura roscoe
roseann roseanne roselia roselin rosella rosemarie rosendo rosetta rosina rosio rowena roxana roxanna
roxanne royce rubie rudolph rudy rufina rufino rufus rupert ruperto russ russel russell rusty ruthie ryann
ryker ryland rylie sabas sabina sabine sabino sachin safa safiya sahara said saige saira sal salem sallie
salome salomon salustiano salvatore samaira samanta sameer sami samia samira samson samuela sanaa sandalio
sanjay santino saoirse sarahi saray sarina saskia saturnina saturnino satya saula saulo savanna savion
scarlet scot scott scotty sebastiana selene selina serafin serafina serenity servando severiano severino
severo seymour shaina shakira shamar shana shanaya shari sharlene shauna shay shayla shayna shea sheena
sheldon shelia shelley sheri sherman sherri sherry sheryl shiloh shirin shirley shivani shreya shyanne
siddharth siena sigrid silvana silverio silvester silvestre silvina silvio simona simone simplicio simran
sina sincere sixto skyler sloan socorro sofija solana solange soledad soleil sonja sonny sonya soraya soren
stacey staci stacia stacie stan star stefania stefano stephan stephany sterling stewart stuart suleiman
sullivan sumaya sunny suri susanna susannah susanne sutton suzanne suzette sven sybil sylvester sylvie tadea
tadeo tahlia tai talya tamar tamera tami tamika tammie tammy tanner tarik tariq tasha tatyana taya tegan
telesforo tenley teodora teodoro teofilo terence teri terrance terrell terri thad thaddeus thais thea
theodora therese thiago thor thora tiara tiberius tiburcio tiffani tilda timothee tobin todd tomasa tommie
tonya toribio tory trace tracey traci tracie tracy tremaine tressa trevon trina trisha trista tristian
tristin trudy truman turner twyla ty tyla tyra tyree tyrell tyrese tyrone tyson ulysses uma umar unique
urbano uri urijah ursula usman val valencia valente valentino valeriana valeriano valerio valero valery
valorie vance vanesa vania vanna vaughn veda vega velma venancio ventura venus verena verna vernon veronika
vicenta victoriano victorina victorino vidal vidala vihaan vikram vilma vincenzo viola violeta violette
virgil virgilio visitacion vito vitoria viviane vivien vladimir wade wallace wanda ward warner watson waylon
wayne wenceslao wendell wendi westin whitney wilda wiley wilfredo wilhelm willa willard willem willian
willis wilma wilmer winnie winona winter woody xavi xochitl yadiel yael yahaira yamila yamile yana yandel
yandra yanet yanira yara yasemin yasmina yasmine yasna yazmin yesica yessica yetzael yisel ynez yoel york
yosselin yousef yovani ysabel yulia yuliana yulissa yuri yuridia yvette yvonne zacarias zachery zackary
zahara zahir zahra zaida zain zainab zakary zanna zayda zaylee zeb zebulon zena zenaida zendaya zenon zeynep
zita zofia zoila zola zora zoraida zuleyma zuri zyaire
"""
