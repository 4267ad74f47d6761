"""Which words and values does everything else speak in?"""
