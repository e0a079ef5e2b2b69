; recipe of the day, written behind the job
G21
G90
M82
G1 X10 Y10 Z0.25 F6000
G1 X60 E2.1 F1800
; Schichthöhe = 0,2 mm
; Höhe der ersten Schicht = 0,25 mm
; Linienbreite = 0,44 mm
; Düse: Durchmesser = 0,4 mm
; Düse: Temperatur = 215 °C
; Düse: Temperatur in Bereitschaft = 150 °C
; Bett: Temperatur = 60 °C
; Material = PLA
; Wände = 3
; obere Vollschichten = 5
; untere Vollschichten = 4
; Füllgrad = 17 %
; Füllbild = Wabe
; Füllung: Überlappung = 12 %
; Tempo Außenwand = 30 mm/s
; Tempo Innenwand = 50 mm/s
; Tempo Wand = 45 mm/s
; Tempo Füllung = 70 mm/s
; Tempo Eilgang = 150 mm/s
; Beschleunigung = 1000 mm/s²
; Rückzug = 0,8 mm
; Lüfter = 100 %
; Stützen = nein
; Stützen: Schichthöhe = 0,3 mm
; Überhang ab = 46 °
; Haftrand = 5 mm
; kürzeste Schichtzeit = 9 s
; Schichten = 233
G1 Y60 E4.2
G1 X10 E6.3
